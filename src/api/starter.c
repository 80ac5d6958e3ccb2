/* The starter sheet: a small job that reads, sizes and checks, with notes on each line. */
#include "api/api-private.h"
#include <string.h>

static const char starter[] =
    "# One record a line; a line that begins with a space goes on with the record above. # begins "
    "a comment.\n"
    "# `loomgraft explain` lists what there is; `loomgraft explain wire` tells about one kind of "
    "record.\n"
    "\n"
    "job \"%s\" nominal=12V units=metric insulation=class-b\n"
    "\n"
    "# Where things sit, and how hot it gets there.\n"
    "place engine-bay temperature=-20C..80C\n"
    "place cabin      temperature=-20C..50C\n"
    "run bulkhead engine-bay cabin 2.2m \"through the spare grommet\"\n"
    "\n"
    "# What there is. `loomgraft explain types` lists the types.\n"
    "part G1  battery-12    at=engine-bay is=host capacity=60Ah\n"
    "part F1  fuse-blade    at=engine-bay \"close to the battery\"\n"
    "part S1  switch-on-off at=cabin\n"
    "part E1  lamp          at=cabin power=21W \"reading lamp\"\n"
    "part XG1 ground        at=engine-bay is=host\n"
    "part XG2 ground        at=cabin\n"
    "\n"
    "# From pin to pin, colour, size (or auto), length one way.\n"
    "wire W0 G1.- XG1.1 BK 16mm2 length=0.4m is=host\n"
    "wire W1 G1.+ F1.1  RD auto  length=0.15m\n"
    "wire W2 F1.2 S1.1  RD auto  via=bulkhead\n"
    "wire W3 S1.2 E1.1  GY auto  length=0.6m\n"
    "wire W4 E1.2 XG2.1 BN auto  length=0.3m\n"
    "\n"
    "# What must hold in every state.\n"
    "need \"the lamp is bright\" E1.lamp power>17W when S1=on\n"
    "need \"nothing is drawn with the switch off\" G1.cell current<1mA when S1=off\n";

char *lg_starter_text(const char *title)
{
  g_autoptr(GString) safe = g_string_new(title != NULL ? title : "A first job");
  g_string_replace(safe, "\\", "\\\\", 0);
  g_string_replace(safe, "\"", "\\\"", 0);
  g_string_replace(safe, "\n", " ", 0);
  return g_strdup_printf(starter, safe->str);
}
