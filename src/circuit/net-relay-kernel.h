/* What the coils want; a text for both numbers of lanes, see net-lanes.h. */

/* Fills `wanted` and gathers the lanes in which a coil wants to move and, where `reach` is given,
 * those in which volts that are wrong by less than it could change what one wants. A floating end,
 * an open branch and a NAN release. */
INLINE void FN(look_at_coils)(const LgNet *net, LgSlate *slate, const LANE *reach, MASK *moved,
                              MASK *unsure)
{
  const LANE *v = (const LANE *)slate->v;
  const MASK *floating = (const MASK *)slate->floating, *pulled = (const MASK *)slate->pulled;
  MASK *wanted = (MASK *)slate->wanted;
  *moved = *unsure = SPREAD_MASK((int64_t)0);
  for (guint c = 0; c < net->coils->len; c++) {
    const LgNetCoil *coil = &g_array_index(net->coils, LgNetCoil, c);
    const LgNetBranch *branch = lg_branch_at(net, coil->branch);
    const LANE across = v[branch->a] - v[branch->b];
    const LANE volts = coil->polarised ? across : SELECT(MASK_OF(across < 0), -across, across);
    const MASK holds = MASK_OF(volts >= coil->drop_out_volts),
               pulls = MASK_OF(volts >= coil->pull_in_volts);
    MASK dead = floating[branch->a] | floating[branch->b];
    if (net->forced[coil->branch] == LG_FORCED_OPEN)
      dead = SPREAD_MASK((int64_t)-1);
    else if (branch->gate >= 0 && net->forced[coil->branch] == LG_FORCED_NOT)
      dead |= ~((const MASK *)slate->closed)[branch->gate];
    wanted[c] = ((pulled[c] & holds) | pulls) & ~dead;
    *moved |= wanted[c] ^ pulled[c];
    if (reach == NULL)
      continue;
    const LANE over =
        volts - SELECT(pulled[c], SPREAD(coil->drop_out_volts), SPREAD(coil->pull_in_volts));
    *unsure |= ~(MASK_OF(over > *reach) | MASK_OF(-over > *reach)) & ~dead;
  }
}
