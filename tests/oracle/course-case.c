#include "course-case.h"

#include <string.h>

#define COPPER_PER_K (1 / 254.5) /* at 293.15 K; the line of the heat room */

gboolean course_case_respond(const int position[], const double felt[], double out[], gpointer user)
{
  CourseCase *c = user;
  const int n = c->n_circuits;
  const double q = felt[0], emf = c->emf_V + c->emf_per_charge_V * (q - 1) * (1.2 - 0.2 * q);
  const double inner = c->inner_ohm * (1 + 0.5 * (1 - q) * (1 - q));
  const double feed = c->feed_ohm * (1 + COPPER_PER_K * (felt[1] - 293.15));
  double g[COURSE_CIRCUITS], sum = 0;
  c->solved++;
  for (int k = 0; k < n; k++) {
    const double wire = c->wire_ohm[k] * (1 + COPPER_PER_K * (felt[2 + 2 * k] - 293.15));
    const double pad = c->pad_ohm[k] * (1 + c->pad_per_K * (felt[3 + 2 * k] - 293.15));
    const gboolean on = position[k] != 0 && (!c->fused || position[n + k] != 0);
    g[k] = on ? 1 / (wire + pad) : 0;
    sum += g[k];
    out[k] = pad;
  }
  const double bus = emf / (1 + (inner + feed) * sum), all = bus * sum;
  for (int k = 0; k < n; k++) {
    const double i = bus * g[k];
    out[k] *= i * i;
    out[n + k] = i * i;
    if (c->fused) {
      const double load = i / c->fuse_A[k];
      out[2 * n + 5 + k] = load * load * load * load / 60;
    }
  }
  out[2 * n] = all * all;
  out[2 * n + 1] = -all / c->charge_As;
  out[2 * n + 2] = emf * all;
  out[2 * n + 3] = all * all * inner;
  out[2 * n + 4] = bus;
  return TRUE;
}

static LgCourseSum one(CourseCase *c, LgCourseOf of, int index)
{
  c->term[c->n_terms] = (LgCourseTerm){of, index, 1};
  return (LgCourseSum){&c->term[c->n_terms++], 1, 0};
}

static int add_node(CourseCase *c, double capacity_J_K, double start_K, gboolean held)
{
  c->node[c->plan.n_nodes] = (LgCourseNode){
      .capacity_J_K = capacity_J_K, .start_K = start_K, .held = held, .bends_to = -1};
  return c->plan.n_nodes++;
}

static void add_link(CourseCase *c, int a, int b, double W_K)
{
  c->link[c->plan.n_links++] = (LgCourseLink){a, b, W_K};
}

/* A wire: I^2 times R(T), mildly bent loss to the air. */
static int add_wire(CourseCase *c, int air, int output, double ohm, double capacity_J_K,
                    double link_W_K)
{
  const int node = add_node(c, capacity_J_K, c->node[air].start_K, FALSE);
  c->node[node].bends_to = air;
  c->node[node].bend[0] = link_W_K * 3e-3;
  c->node[node].bend[1] = link_W_K * 1e-5;
  c->node[node].own_per_K = COPPER_PER_K;
  c->node[node].own_at_K = 293.15;
  c->node[node].tolerance_K = 1e-6;
  add_link(c, node, air, link_W_K);
  c->heat[c->plan.n_heats++] = (LgCourseHeat){output, node, ohm};
  return node;
}

static void join(CourseCase *c)
{
  LgCoursePlan *p = &c->plan;
  p->nodes = c->node;
  p->links = c->link;
  p->heats = c->heat;
  p->slows = c->slow;
  p->outputs = c->output;
  p->felts = c->felt;
  p->switches = c->move;
  p->watches = c->watch;
  p->turns = c->turn;
}

static void set_outputs(CourseCase *c)
{
  const int n = c->n_circuits;
  c->plan.n_outputs = 2 * n + 5 + (c->fused ? n : 0);
  for (int o = 0; o < c->plan.n_outputs; o++)
    c->output[o] = (LgCourseOutput){.floor = 1e-3};
  c->output[2 * n + 1].floor = 1e-3 / c->charge_As;
  c->output[2 * n + 2].role = LG_OUTPUT_SOURCE;
  c->output[2 * n + 3].role = LG_OUTPUT_ELSEWHERE;
  for (int k = 0; k < n && c->fused; k++)
    c->output[2 * n + 5 + k].floor = 1e-5;
}

static void start(CourseCase *c, int n_circuits, gboolean fused)
{
  memset(c, 0, sizeof *c);
  c->n_circuits = n_circuits;
  c->fused = fused;
  c->emf_V = 12.7;
  c->emf_per_charge_V = 1.1;
  c->inner_ohm = 0.012;
  c->charge_As = 60 * 3600;
  c->feed_ohm = 0.008;
  c->pad_per_K = 0.0036;
  set_outputs(c);
  c->slow[c->plan.n_slows++] =
      (LgCourseSlow){.start = 0.95, .output = 2 * n_circuits + 1, .share = 1, .tolerance = 1e-10};
  c->felt[0] = (LgCourseFelt){one(c, LG_OF_SLOW, 0), 0.1};
  c->plan.n_felts = 2 + 2 * n_circuits;
}

/* ---- Random ---- */

static double between(GRand *rand, double low, double high)
{
  return g_rand_double_range(rand, low, high);
}

static int add_pad(CourseCase *c, GRand *rand, int circuit, int air)
{
  const double cold_K = c->node[air].start_K;
  const int pad = add_node(c, between(rand, 150, 600), cold_K, FALSE);
  int below = pad;
  for (int k = g_rand_int_range(rand, 0, 4); k > 0; k--) {
    const int next = add_node(c, between(rand, 200, 3000), cold_K + between(rand, -2, 2), FALSE);
    add_link(c, below, next, between(rand, 0.5, 3));
    if (g_rand_boolean(rand))
      add_link(c, next, air, between(rand, 0.1, 0.6));
    below = next;
  }
  add_link(c, below, air, between(rand, 0.2, 0.8));
  add_link(c, pad, air, between(rand, 0.3, 1));
  c->heat[c->plan.n_heats++] = (LgCourseHeat){circuit, pad, 1};
  return pad;
}

static void add_band(CourseCase *c, GRand *rand, int node, int least)
{
  const double cold_K = c->node[0].start_K, at = cold_K + between(rand, 6, 22);
  c->move[c->plan.n_switches++] =
      (LgCourseSwitch){.kind = LG_SWITCH_BAND,
                       .start = g_rand_boolean(rand),
                       .sum = one(c, LG_OF_NODE, node),
                       .on_at = at,
                       .off_at = at + between(rand, 0.3, 3),
                       .least_on_s = least == 1 ? between(rand, 5, 60) : 0,
                       .least_off_s = least == 2 ? between(rand, 5, 90) : 0,
                       .delay_on_s = least == 3 ? 0.02 : 0};
}

static void add_fuses(CourseCase *c, GRand *rand)
{
  const int n = c->n_circuits;
  for (int k = 0; k < n && c->fused; k++) {
    c->slow[c->plan.n_slows] = (LgCourseSlow){
        .output = 2 * n + 5 + k, .share = 1, .forget_s = between(rand, 60, 600), .tolerance = 1e-9};
    c->move[c->plan.n_switches++] =
        (LgCourseSwitch){.kind = LG_SWITCH_BREAKER,
                         .start = 1,
                         .spent = c->plan.n_slows++,
                         .back = g_rand_boolean(rand) ? LG_BACK_SELF : LG_BACK_NEVER,
                         .rest_s = between(rand, 100, 1000)};
    c->fuse_A[k] = between(rand, 4, 12);
  }
}

static void add_turns(CourseCase *c, GRand *rand, int air)
{
  double at_s = 0;
  for (int k = g_rand_int_range(rand, 0, 4); k > 0; k--) {
    at_s += between(rand, 300, 2000);
    c->turn[c->plan.n_turns++] =
        (LgCourseTurn){at_s, LG_TURN_HELD, air, c->node[air].start_K + between(rand, -5, 5), 0};
  }
}

void course_case_random(CourseCase *c, guint32 seed)
{
  g_autoptr(GRand) rand = g_rand_new_with_seed(seed);
  start(c, g_rand_int_range(rand, 1, COURSE_CIRCUITS + 1), g_rand_int_range(rand, 0, 3) == 0);
  const int n = c->n_circuits, air = add_node(c, 0, between(rand, 253, 295), TRUE);
  c->felt[1] = (LgCourseFelt){
      one(c, LG_OF_NODE, add_wire(c, air, 2 * n, c->feed_ohm, 40, between(rand, 0.2, 0.6))), 4};
  for (int k = 0; k < n; k++) {
    c->pad_ohm[k] = between(rand, 1.5, 4);
    c->wire_ohm[k] = between(rand, 0.02, 0.1);
    const int wire =
        add_wire(c, air, n + k, c->wire_ohm[k], between(rand, 4, 60), between(rand, 0.1, 0.4));
    const int pad = add_pad(c, rand, k, air);
    c->felt[2 + 2 * k] = (LgCourseFelt){one(c, LG_OF_NODE, wire), 4};
    c->felt[3 + 2 * k] = (LgCourseFelt){one(c, LG_OF_NODE, pad), 4};
    add_band(c, rand, pad, g_rand_int_range(rand, 0, 5));
  }
  add_fuses(c, rand);
  c->watch[c->plan.n_watches++] = (LgCourseWatch){one(c, LG_OF_NODE, c->plan.n_nodes - 1),
                                                  c->node[air].start_K + between(rand, 1, 10), 0};
  add_turns(c, rand, air);
  join(c);
}

/* ---- The seat ---- */

void course_case_seat(CourseCase *c)
{
  static const double HEAT_J_K[3] = {5200, 4100, 3000}, LOSS_W_K[3] = {0.9, 0.8, 0.7},
                      ON_K[3] = {308.15, 306.15, 304.15}, WIDE_K[3] = {2.4, 2.0, 2.2};
  start(c, 3, FALSE);
  const int n = 3, air = add_node(c, 0, 278.15, TRUE);
  c->charge_As = 300 * 3600;
  c->felt[0].span = 0.2;
  c->felt[1] = (LgCourseFelt){one(c, LG_OF_NODE, add_wire(c, air, 2 * n, c->feed_ohm, 60, 0.5)), 4};
  for (int k = 0; k < n; k++) {
    c->pad_ohm[k] = 2.2 + 0.3 * k;
    c->wire_ohm[k] = 0.04;
    const int wire = add_wire(c, air, n + k, c->wire_ohm[k], 25, 0.25);
    const int pad = add_node(c, HEAT_J_K[k] * 0.3, 278.15, FALSE);
    const int foam = add_node(c, HEAT_J_K[k] * 2, 278.15, FALSE);
    const int cover = add_node(c, HEAT_J_K[k] * 0.4, 278.15, FALSE);
    add_link(c, pad, foam, 1.2);
    add_link(c, pad, cover, 3);
    add_link(c, cover, air, LOSS_W_K[k]);
    add_link(c, foam, air, 0.2);
    c->heat[c->plan.n_heats++] = (LgCourseHeat){k, pad, 1};
    c->felt[2 + 2 * k] = (LgCourseFelt){one(c, LG_OF_NODE, wire), 4};
    c->felt[3 + 2 * k] = (LgCourseFelt){one(c, LG_OF_NODE, pad), 4};
    c->move[c->plan.n_switches++] = (LgCourseSwitch){.kind = LG_SWITCH_BAND,
                                                     .start = 1,
                                                     .sum = one(c, LG_OF_NODE, pad),
                                                     .on_at = ON_K[k],
                                                     .off_at = ON_K[k] + WIDE_K[k]};
  }
  join(c);
}
