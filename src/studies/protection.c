/* Which fuse or breaker stands between the sources and every wire.
 *
 * Nodes are the pins and the body. The ground is what is tied to the body or to a source's ground
 * post by wires, links and chassis alone. The rest falls into zones, stretches without a fuse:
 * wires, links, diodes and contacts, all taken as closed, lead on; fuses and breakers join zones.
 * The ground ends a zone, so that a reversing contact, which in one position lies at plus and in
 * the other at ground, does not let the feed run into the ground. */
#include "studies/sizing.h"
#include <math.h>
#include <string.h>

/* A motor that starts with so much is a starter, whose cable the trade leaves without a fuse, as 33
 * CFR 183.455 and ABYC E-11 do (memory); 100 A: common practice, no source. */
#define STARTER_A 100.0

typedef struct {
  const LgJob *job;
  const double *ratings;
  int n_nodes, n_edges; /* edges: wires, then elements */
  int *a, *b, *first, *incident;
  gboolean *ground; /* [n_nodes] */
  int *zone;        /* [n_nodes], -1 in the ground */
  int n_zones;
  gboolean *bare;     /* [n_zones] holds the hot post of a source */
  double *width;      /* [n_zones] greatest rating that can feed a short in it, -1: no source */
  int *width_device;  /* [n_zones] */
  double *fuse_at_m;  /* [n_zones] from the source to the first fuse, the greatest */
  gboolean *excused;  /* [n_edges] starter and charging cables */
  double *far_m;      /* [n_nodes] from the farthest of the sources that reach it bare */
  int *far_source;    /* [n_nodes] */
  double *behind;     /* [n_nodes] greatest rating of a feed that comes here through loads */
  int *behind_device; /* [n_nodes] */
  double *returns;    /* [n_wires] the same for wires in the ground */
  int *return_device;
} Web;

static const LgElement *element_of(const Web *web, int edge)
{
  return edge < web->job->n_wires ? NULL : &web->job->elements[edge - web->job->n_wires];
}

static double length_of(const Web *web, int edge)
{
  return edge < web->job->n_wires && !web->excused[edge] ? web->job->wires[edge].length_m : 0;
}

static gboolean is_fuse(const Web *web, int edge)
{
  const LgElement *const element = element_of(web, edge);
  return element != NULL && lg_element_is_protection(element->kind);
}

/* Leads a feed on within its zone. */
static gboolean leads(const Web *web, int edge)
{
  const LgElement *const element = element_of(web, edge);
  return element == NULL || element->kind == LG_EL_LINK || element->kind == LG_EL_CHASSIS ||
         element->kind == LG_EL_DIODE || lg_element_is_contact(element->kind);
}

static gboolean is_bond(const Web *web, int edge)
{
  const LgElement *const element = element_of(web, edge);
  return element == NULL || element->kind == LG_EL_LINK || element->kind == LG_EL_CHASSIS;
}

static gboolean is_load(const Web *web, int edge)
{
  const LgElement *const element = element_of(web, edge);
  return element != NULL && lg_element_is_load(element->kind);
}

static int other_end(const Web *web, int edge, int node)
{
  return web->a[edge] == node ? web->b[edge] : web->a[edge];
}

static int post(const Web *web, int source, gboolean hot)
{
  return web->job->elements[source].pin[hot == web->job->positive_ground];
}

static double rating_of(const Web *web, int edge)
{
  const int element = edge - web->job->n_wires;
  const double chosen = web->ratings != NULL ? web->ratings[element] : NAN;
  const double rating = isnan(chosen) ? web->job->elements[element].p[LG_P_RATING] : chosen;
  return isnan(rating) ? 0 : rating;
}

static void join(Web *web)
{
  const LgJob *const job = web->job;
  for (int w = 0; w < job->n_wires; w++) {
    web->a[w] = job->wires[w].pin[0];
    web->b[w] = job->wires[w].pin[1];
  }
  for (int e = 0; e < job->n_elements; e++) {
    web->a[job->n_wires + e] = job->elements[e].pin[0];
    web->b[job->n_wires + e] = job->elements[e].pin[1] >= 0 ? job->elements[e].pin[1] : job->n_pins;
  }
  for (int e = 0; e < web->n_edges; e++) {
    web->first[web->a[e] + 1]++;
    web->first[web->b[e] + 1]++;
  }
  for (int n = 0; n < web->n_nodes; n++)
    web->first[n + 1] += web->first[n];
  g_autofree int *next = g_memdup2(web->first, sizeof(int) * (gsize)web->n_nodes);
  for (int e = 0; e < web->n_edges; e++) {
    web->incident[next[web->a[e]]++] = e;
    web->incident[next[web->b[e]]++] = e;
  }
}

/* Lists in `found` what `start` reaches through edges that `passes` lets by, nodes already seen
 * left out. */
static void reach(const Web *web, int start, gboolean (*passes)(const Web *, int), gboolean seen[],
                  GArray *found)
{
  g_array_set_size(found, 0);
  g_array_append_val(found, start);
  seen[start] = TRUE;
  for (guint i = 0; i < found->len; i++) {
    const int node = g_array_index(found, int, i);
    for (int k = web->first[node]; k < web->first[node + 1]; k++) {
      const int to = other_end(web, web->incident[k], node);
      if (seen[to] || !passes(web, web->incident[k]))
        continue;
      seen[to] = TRUE;
      g_array_append_val(found, to);
    }
  }
}

/* The body, and each source's ground post unless wires tie it to a hot post, as between batteries
 * in series. */
static void find_ground(Web *web)
{
  const LgJob *const job = web->job;
  g_autoptr(GArray) found = g_array_new(FALSE, FALSE, sizeof(int));
  g_autofree gboolean *hot = g_new0(gboolean, (gsize)web->n_nodes);
  for (int e = 0; e < job->n_elements; e++)
    if (lg_element_is_source(job->elements[e].kind))
      hot[post(web, e, TRUE)] = TRUE;
  for (int e = -1; e < job->n_elements; e++) {
    if (e >= 0 && !lg_element_is_source(job->elements[e].kind))
      continue;
    g_autofree gboolean *seen = g_new0(gboolean, (gsize)web->n_nodes);
    reach(web, e < 0 ? job->n_pins : post(web, e, FALSE), is_bond, seen, found);
    gboolean in_series = FALSE;
    for (guint i = 0; i < found->len; i++)
      in_series |= hot[g_array_index(found, int, i)];
    for (guint i = 0; !in_series && i < found->len; i++)
      web->ground[g_array_index(found, int, i)] = TRUE;
  }
}

static void find_zones(Web *web)
{
  g_autoptr(GArray) found = g_array_new(FALSE, FALSE, sizeof(int));
  g_autofree gboolean *seen = g_memdup2(web->ground, sizeof(gboolean) * (gsize)web->n_nodes);
  for (int n = 0; n < web->n_nodes; n++)
    web->zone[n] = -1;
  for (int n = 0; n < web->n_nodes; n++) {
    if (seen[n])
      continue;
    reach(web, n, leads, seen, found);
    for (guint i = 0; i < found->len; i++)
      web->zone[g_array_index(found, int, i)] = web->n_zones;
    web->n_zones++;
  }
  web->bare = g_new0(gboolean, (gsize)web->n_zones + 1);
  web->width = g_new0(double, (gsize)web->n_zones + 1);
  web->width_device = g_new(int, (gsize)web->n_zones + 1);
  web->fuse_at_m = g_new0(double, (gsize)web->n_zones + 1);
  for (int z = 0; z <= web->n_zones; z++)
    web->width_device[z] = -1;
  for (int e = 0; e < web->job->n_elements; e++) {
    if (!lg_element_is_source(web->job->elements[e].kind))
      continue;
    const int z = web->zone[post(web, e, TRUE)];
    if (z >= 0)
      web->bare[z] = TRUE;
  }
}

/* Shortest lengths from the nodes in `queue` (their `at_m` set, all others INFINITY) over edges
 * that lead on outside the ground, or over bonds inside it; `by` is the edge that one comes by. A
 * node is looked at again when its length falls, which is rare as harnesses are nearly trees. */
static void measure(const Web *web, GQueue *queue, gboolean in_ground, double at_m[], int by[])
{
  while (!g_queue_is_empty(queue)) {
    const int node = GPOINTER_TO_INT(g_queue_pop_head(queue));
    for (int k = web->first[node]; k < web->first[node + 1]; k++) {
      const int edge = web->incident[k], to = other_end(web, edge, node);
      if (web->ground[to] != in_ground || !(in_ground ? is_bond : leads)(web, edge))
        continue;
      const double then_m = at_m[node] + length_of(web, edge);
      if (then_m >= at_m[to])
        continue;
      at_m[to] = then_m;
      by[to] = edge;
      g_queue_push_tail(queue, GINT_TO_POINTER(to));
    }
  }
}

static void start_measure(const Web *web, double at_m[], int by[])
{
  for (int n = 0; n < web->n_nodes; n++) {
    at_m[n] = INFINITY;
    by[n] = -1;
  }
}

static gboolean is_starter(const LgElement *element)
{
  return lg_element_is_motor(element->kind) && element->p[LG_P_START] >= STARTER_A;
}

static gboolean is_charger(const LgElement *element)
{
  return element->kind == LG_EL_ALTERNATOR || element->kind == LG_EL_DYNAMO;
}

/* The cables from the nearest battery to starters and chargers, as far as no fuse stands in them.
 */
static void excuse(Web *web)
{
  const LgJob *const job = web->job;
  g_autofree double *at_m = g_new(double, (gsize)web->n_nodes);
  g_autofree int *by = g_new(int, (gsize)web->n_nodes);
  GQueue queue = G_QUEUE_INIT;
  start_measure(web, at_m, by);
  for (int e = 0; e < job->n_elements; e++)
    if (job->elements[e].kind == LG_EL_CELL) {
      at_m[post(web, e, TRUE)] = 0;
      g_queue_push_tail(&queue, GINT_TO_POINTER(post(web, e, TRUE)));
    }
  measure(web, &queue, FALSE, at_m, by);
  for (int e = 0; e < job->n_elements; e++) {
    const LgElement *const element = &job->elements[e];
    if (!is_starter(element) && !is_charger(element))
      continue;
    for (int side = 0; side < 2; side++) {
      int node = element->pin[side];
      if (web->ground[node] || !isfinite(at_m[node]))
        continue;
      for (; by[node] >= 0; node = other_end(web, by[node], node))
        web->excused[by[node]] = TRUE;
    }
  }
}

static void find_bare_lengths(Web *web)
{
  const LgJob *const job = web->job;
  g_autofree double *at_m = g_new(double, (gsize)web->n_nodes);
  g_autofree int *by = g_new(int, (gsize)web->n_nodes);
  for (int n = 0; n < web->n_nodes; n++) {
    web->far_m[n] = -1;
    web->far_source[n] = -1;
  }
  for (int e = 0; e < job->n_elements; e++) {
    if (!lg_element_is_source(job->elements[e].kind) || web->ground[post(web, e, TRUE)])
      continue;
    GQueue queue = G_QUEUE_INIT;
    start_measure(web, at_m, by);
    at_m[post(web, e, TRUE)] = 0;
    g_queue_push_tail(&queue, GINT_TO_POINTER(post(web, e, TRUE)));
    measure(web, &queue, FALSE, at_m, by);
    for (int n = 0; n < web->n_nodes; n++)
      if (isfinite(at_m[n]) && at_m[n] > web->far_m[n]) {
        web->far_m[n] = at_m[n];
        web->far_source[n] = e;
      }
  }
}

/* The fuse's other zone, and whether a rating or length that comes from there is worth more. */
static gboolean widen(Web *web, int edge, int from, int to)
{
  const int zf = web->zone[from], zt = web->zone[to];
  if (zf < 0 || zt < 0 || zf == zt || web->width[zf] < 0)
    return FALSE;
  gboolean news = FALSE;
  const double rating = rating_of(web, edge), width = fmin(web->width[zf], rating);
  if (width > web->width[zt]) {
    web->width[zt] = width;
    web->width_device[zt] =
        rating <= web->width[zf] ? edge - web->job->n_wires : web->width_device[zf];
    news = TRUE;
  }
  const double at_m = web->bare[zf] ? web->far_m[from] : web->fuse_at_m[zf];
  if (!web->bare[zt] && at_m > web->fuse_at_m[zt]) {
    web->fuse_at_m[zt] = at_m;
    news = TRUE;
  }
  return news;
}

static void widen_all(Web *web)
{
  for (int z = 0; z < web->n_zones; z++)
    web->width[z] = web->bare[z] ? INFINITY : -1;
  for (gboolean news = TRUE; news;) {
    news = FALSE;
    for (int edge = web->job->n_wires; edge < web->n_edges; edge++) {
      if (!is_fuse(web, edge))
        continue;
      news |= widen(web, edge, web->a[edge], web->b[edge]);
      news |= widen(web, edge, web->b[edge], web->a[edge]);
    }
  }
}

/* What a feed can push into a node that it reaches: its zone's rating, or through loads. 0 also for
 * a feed without a fuse: that stands against the feed, not against what lies behind. */
static double push(const Web *web, int node, int *device)
{
  const int z = web->zone[node];
  const gboolean fed = z >= 0 && web->width[z] >= 0;
  *device = fed ? web->width_device[z] : web->behind_device[node];
  const double amps = fed ? web->width[z] : web->behind[node];
  return isfinite(amps) ? amps : 0;
}

static void go_behind(Web *web)
{
  GQueue queue = G_QUEUE_INIT;
  for (int n = 0; n < web->n_nodes; n++) {
    web->behind_device[n] = -1;
    if (web->zone[n] >= 0 && web->width[web->zone[n]] >= 0)
      g_queue_push_tail(&queue, GINT_TO_POINTER(n));
  }
  while (!g_queue_is_empty(&queue)) {
    const int node = GPOINTER_TO_INT(g_queue_pop_head(&queue));
    int device;
    const double amps = push(web, node, &device);
    for (int k = web->first[node]; k < web->first[node + 1]; k++) {
      const int edge = web->incident[k], to = other_end(web, edge, node);
      if (web->ground[to] || web->width[web->zone[to]] >= 0 ||
          !(is_load(web, edge) || leads(web, edge) || is_fuse(web, edge)))
        continue;
      const double here = is_fuse(web, edge) ? fmin(amps, rating_of(web, edge)) : amps;
      if (here <= web->behind[to])
        continue;
      web->behind[to] = here;
      web->behind_device[to] = here < amps ? edge - web->job->n_wires : device;
      g_queue_push_tail(&queue, GINT_TO_POINTER(to));
    }
  }
}

/* Where the return of everything ends: the main source's ground post, else the body. */
static int ground_end(const Web *web)
{
  const LgJob *const job = web->job;
  int first = -1;
  for (int e = 0; e < job->n_elements; e++) {
    if (!lg_element_is_source(job->elements[e].kind) || !web->ground[post(web, e, FALSE)])
      continue;
    if (job->elements[e].kind == LG_EL_CELL)
      return post(web, e, FALSE);
    if (first < 0)
      first = post(web, e, FALSE);
  }
  return first >= 0 ? first : job->n_pins;
}

/* Every feed that enters the ground takes the shortest way to its end. */
static void come_back(Web *web)
{
  g_autofree double *at_m = g_new(double, (gsize)web->n_nodes);
  g_autofree int *by = g_new(int, (gsize)web->n_nodes);
  GQueue queue = G_QUEUE_INIT;
  start_measure(web, at_m, by);
  at_m[ground_end(web)] = 0;
  g_queue_push_tail(&queue, GINT_TO_POINTER(ground_end(web)));
  measure(web, &queue, TRUE, at_m, by);
  for (int edge = 0; edge < web->n_edges; edge++) {
    if (web->ground[web->a[edge]] == web->ground[web->b[edge]] ||
        !(is_load(web, edge) || leads(web, edge) || is_fuse(web, edge)))
      continue;
    const int out = web->ground[web->a[edge]] ? web->b[edge] : web->a[edge];
    int device;
    const double amps = push(web, out, &device);
    for (int node = other_end(web, edge, out); amps > 0 && by[node] >= 0;
         node = other_end(web, by[node], node)) {
      if (by[node] < web->job->n_wires && amps > web->returns[by[node]]) {
        web->returns[by[node]] = amps;
        web->return_device[by[node]] = device;
      }
    }
  }
}

static void mark_zones(const Web *web, int without, gboolean reached[])
{
  for (int z = 0; z < web->n_zones; z++)
    reached[z] = web->bare[z] && z != without;
  for (gboolean news = TRUE; news;) {
    news = FALSE;
    for (int edge = web->job->n_wires; edge < web->n_edges; edge++) {
      const int za = web->zone[web->a[edge]], zb = web->zone[web->b[edge]];
      if (!is_fuse(web, edge) || za < 0 || zb < 0 || za == without || zb == without ||
          reached[za] == reached[zb])
        continue;
      reached[za] = reached[zb] = news = TRUE;
    }
  }
}

/* Fuses at the edge of zone `z` that have a source beyond. */
static GArray *devices_of(const Web *web, int z)
{
  GArray *const devices = g_array_new(FALSE, FALSE, sizeof(int));
  g_autofree gboolean *reached = g_new0(gboolean, (gsize)web->n_zones + 1);
  mark_zones(web, z, reached);
  for (int edge = web->job->n_wires; edge < web->n_edges; edge++) {
    const int za = web->zone[web->a[edge]], zb = web->zone[web->b[edge]];
    const int beyond = za == z ? zb : zb == z ? za : -1;
    if (!is_fuse(web, edge) || za == zb || beyond < 0 || !reached[beyond])
      continue;
    const int element = edge - web->job->n_wires;
    g_array_append_val(devices, element);
  }
  return devices;
}

static void fill_feed(const Web *web, int wire, const GArray *devices, LgProtection *out)
{
  const int z = web->zone[web->a[wire]];
  out->side = LG_SIDE_FEED;
  out->rating_A = web->width[z];
  out->rating_device = web->width_device[z];
  if (!web->bare[z]) {
    out->bare_m = web->fuse_at_m[z];
    out->n_devices = (int)devices->len;
    out->devices = g_memdup2(devices->data, sizeof(int) * devices->len);
    return;
  }
  const int a = web->a[wire], b = web->b[wire];
  const int near = web->far_m[a] <= web->far_m[b] ? a : b;
  out->exempt = web->excused[wire];
  out->bare_source = web->far_source[near];
  out->bare_m = (out->exempt ? 0 : web->far_m[near]) + web->job->wires[wire].length_m;
}

static void fill(const Web *web, int wire, GArray *const zone_devices[], LgProtection *out)
{
  const int a = web->a[wire];
  *out = (LgProtection){.bare_source = -1, .rating_device = -1};
  if (web->ground[a]) {
    out->side = LG_SIDE_RETURN;
    out->rating_A = web->returns[wire];
    out->rating_device = web->return_device[wire];
    out->exempt = out->rating_A <= 0;
  } else if (web->width[web->zone[a]] >= 0) {
    fill_feed(web, wire, zone_devices[web->zone[a]], out);
  } else {
    int device;
    out->rating_A = push(web, a, &device);
    out->rating_device = device;
    out->side = out->rating_A > 0 ? LG_SIDE_BEHIND : LG_SIDE_NONE;
    out->exempt = out->rating_A <= 0;
  }
}

static void web_init(Web *web, const LgJob *job, const double ratings_A[])
{
  *web = (Web){.job = job,
               .ratings = ratings_A,
               .n_nodes = job->n_pins + 1,
               .n_edges = job->n_wires + job->n_elements};
  const gsize n = (gsize)web->n_nodes + 2, m = (gsize)web->n_edges + 1;
  web->a = g_new0(int, m);
  web->b = g_new0(int, m);
  web->first = g_new0(int, n);
  web->incident = g_new0(int, 2 * m);
  web->ground = g_new0(gboolean, n);
  web->zone = g_new0(int, n);
  web->excused = g_new0(gboolean, m);
  web->far_m = g_new0(double, n);
  web->far_source = g_new0(int, n);
  web->behind = g_new0(double, n);
  web->behind_device = g_new0(int, n);
  web->returns = g_new0(double, m);
  web->return_device = g_new0(int, m);
  for (gsize i = 0; i < m; i++)
    web->return_device[i] = -1;
}

static void web_clear(Web *web)
{
  gpointer owned[] = {
      web->a,      web->b,          web->first,   web->incident,      web->ground,       web->zone,
      web->bare,   web->width,      web->excused, web->fuse_at_m,     web->width_device, web->far_m,
      web->behind, web->far_source, web->returns, web->behind_device, web->return_device};
  for (guint i = 0; i < G_N_ELEMENTS(owned); i++)
    g_free(owned[i]);
}

LgProtection *lg_protection_new(const LgJob *job, const double ratings_A[])
{
  LgProtection *const protection = g_new0(LgProtection, (gsize)job->n_wires + 1);
  Web web;
  web_init(&web, job, ratings_A);
  join(&web);
  find_ground(&web);
  find_zones(&web);
  excuse(&web);
  find_bare_lengths(&web);
  widen_all(&web);
  go_behind(&web);
  come_back(&web);
  GArray **const zone_devices = g_new0(GArray *, (gsize)web.n_zones + 1);
  for (int w = 0; w < job->n_wires; w++) {
    const int z = web.zone[web.a[w]];
    if (z >= 0 && zone_devices[z] == NULL)
      zone_devices[z] = devices_of(&web, z);
    fill(&web, w, zone_devices, &protection[w]);
  }
  for (int z = 0; z < web.n_zones; z++)
    if (zone_devices[z] != NULL)
      g_array_unref(zone_devices[z]);
  g_free(zone_devices);
  web_clear(&web);
  return protection;
}

void lg_protection_free(LgProtection *protection, int n_wires)
{
  if (protection == NULL)
    return;
  for (int w = 0; w < n_wires; w++)
    g_free(protection[w].devices);
  g_free(protection);
}
