/* The table of rules, and their run. */
#include "studies/checks-private.h"
#include "studies/shorts.h"

/* Gravest first within a subject; `explain rules` prints them in this order. */
const LgRule *const lg_rules[] = {
    &lg_rule_restraint_wired,
    &lg_rule_restraint_read,
    &lg_rule_no_fuse,
    &lg_rule_fuse_far,
    &lg_rule_fuse_at_one_end,
    &lg_rule_fuse_above_wire,
    &lg_rule_overload_lasts,
    &lg_rule_short_lasts,
    &lg_rule_parallel_fuses,
    &lg_rule_fuse_in_return,
    &lg_rule_fuse_loaded,
    &lg_rule_fuse_start,
    &lg_rule_fuse_not_sold,
    &lg_rule_vital_shared,
    &lg_rule_wire_overloaded,
    &lg_rule_cover_hot,
    &lg_rule_terminal_overloaded,
    &lg_rule_contact_overloaded,
    &lg_rule_contact_unrated,
    &lg_rule_output_kick,
    &lg_rule_live_when_off,
    &lg_rule_over_volts,
    &lg_rule_far_power,
    &lg_rule_drop,
    &lg_rule_cut_out,
    &lg_rule_never_fed,
    &lg_rule_polarity,
    &lg_rule_diode_reversed,
    &lg_rule_coil_weak,
    &lg_rule_coil_weak_cranking,
    &lg_rule_coil_dip,
    &lg_rule_chatter,
    &lg_rule_latching,
    &lg_rule_sneak_path,
    &lg_rule_sensor_shared,
    &lg_rule_surface_hot,
    &lg_rule_surface_long,
    &lg_rule_heat_unsaid,
    &lg_rule_warm_up_slow,
    &lg_rule_relay_worn,
    &lg_rule_standing,
    &lg_rule_frost_crank,
    &lg_rule_heat_key_off,
    &lg_rule_deficit_driving,
    &lg_rule_deficit_idle,
    &lg_rule_use_flat,
    &lg_rule_need_broken,
    &lg_rule_need_never,
    &lg_rule_pin_unwired,
    &lg_rule_dead_end,
    &lg_rule_island,
    &lg_rule_not_fitted,
    &lg_rule_fitted_unknown,
    &lg_rule_pin_unproven,
    &lg_rule_terminal_range,
    &lg_rule_wire_weak,
    &lg_rule_colour_twice,
    &lg_rule_green_yellow,
    &lg_rule_edge_bare,
    &lg_rule_moving,
    &lg_rule_wet_splice,
    &lg_rule_photo_missing,
    &lg_rule_no_size,
    &lg_rule_no_rating,
    &lg_rule_restraint_left_alone,
    &lg_rule_reading_contradicts,
    &lg_rule_reading_impossible,
    NULL,
};

const LgRule *lg_rule_find(const char *name)
{
  for (int i = 0; lg_rules[i] != NULL; i++)
    if (strcmp(lg_rules[i]->name, name) == 0)
      return lg_rules[i];
  return NULL;
}

static void open_context(LgCheckContext *c)
{
  const LgCircuit *const circuit = c->sizing->circuit;
  c->words = g_string_chunk_new(4096);
  c->ways = lg_ways_new(circuit);
  c->work = lg_net_work_new(circuit->net);
  c->point = lg_point_new(circuit);
  c->net = lg_nets_new(c);
  c->survey = lg_survey_new(c);
}

static void close_context(LgCheckContext *c)
{
  lg_heat_study_free(c->heat);
  lg_survey_free(c->survey);
  lg_shorts_free(c->shorts);
  g_free(c->net);
  lg_point_free(c->point);
  lg_net_work_free(c->work);
  lg_ways_free(c->ways);
  g_string_chunk_free(c->words);
}

/* A load whose volts sizing could not mend is told by `drop` already, with more to it. */
static gboolean is_told(const GPtrArray *findings, const LgFinding *by_sizing)
{
  for (guint i = 0; i < findings->len; i++) {
    const LgFinding *const f = findings->pdata[i];
    if (strcmp(f->rule, lg_rule_drop.name) == 0 &&
        strcmp(by_sizing->rule, lg_rule_no_size.name) == 0 &&
        g_str_has_suffix(f->subject, by_sizing->subject))
      return TRUE;
  }
  return FALSE;
}

static void add_copy(GPtrArray *findings, const LgFinding *finding)
{
  LgFinding *const copy = g_new(LgFinding, 1);
  *copy = *finding;
  copy->subject = g_strdup(finding->subject);
  copy->what = g_strdup(finding->what);
  copy->basis = g_strdup(finding->basis);
  copy->remedy = g_strdup(finding->remedy);
  g_ptr_array_add(findings, copy);
}

GPtrArray *lg_checks_run(const LgJob *job, const LgSizing *sizing)
{
  LgCheckContext c = {
      .job = job, .sizing = sizing, .states = sizing->states, .findings = lg_findings_new()};
  open_context(&c);
  for (int i = 0; lg_rules[i] != NULL; i++) {
    c.rule = lg_rules[i];
    if (c.rule->run != NULL)
      c.rule->run(&c);
  }
  close_context(&c);
  for (guint i = 0; i < sizing->findings->len; i++)
    if (!is_told(c.findings, sizing->findings->pdata[i]))
      add_copy(c.findings, sizing->findings->pdata[i]);
  lg_findings_sort(c.findings);
  return c.findings;
}
