/* Generated job sheets for benchmarks and property tests: invented, plain, as many circuits as
 * asked. */
#pragma once
#include <glib.h>

/* A sheet with `circuits` fused loads (lamps, heaters, motors, fans in turn), one in two of them
 * behind a relay, worked by the key and by `switches` hand switches in turn. States: 4 x
 * 2^switches. Deterministic. Newly allocated. */
char *make_job(int circuits, int switches);
