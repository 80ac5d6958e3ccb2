#include "make-job.h"

static const struct {
  const char *type, *figures;
} loads[] = {
    {"heater-pad", "power=24W"},
    {"fan", "run=1.5A"},
    {"lamp", "power=10W"},
    {"motor", "run=1A stall=4A"},
};

static void one_circuit(GString *text, int i, int switches)
{
  const int kind = i % (int)G_N_ELEMENTS(loads);
  const gboolean relay = i % 2 == 0;
  const int hand = i % switches + 1;
  g_string_append_printf(text, "part F%d fuse-blade at=dash\npart E%d %s at=back %s\n", i, i,
                         loads[kind].type, loads[kind].figures);
  if (relay) {
    g_string_append_printf(text, "part K%d relay-make at=dash\n", i);
    g_string_append_printf(text,
                           "wire A%d FEED.1 F%d.1 RD auto length=0.1m\n"
                           "wire B%d F%d.2 K%d.30 RD auto length=0.2m\n"
                           "wire C%d K%d.87 E%d.1 RD/WH auto via=loom\n"
                           "wire D%d S%d.2 K%d.86 BU auto length=0.4m\n"
                           "wire G%d K%d.85 XG1.1 BN auto length=0.4m\n",
                           i, i, i, i, i, i, i, i, i, hand, i, i, i);
  } else {
    g_string_append_printf(text,
                           "wire A%d S%d.2 F%d.1 RD auto length=0.3m\n"
                           "wire C%d F%d.2 E%d.1 GN auto via=loom\n",
                           i, hand, i, i, i, i);
  }
  g_string_append_printf(text, "wire H%d E%d.2 XG2.1 BN auto length=0.5m\n", i, i);
}

char *make_job(int circuits, int switches)
{
  GString *const text = g_string_new(
      "job \"generated\" nominal=12V insulation=class-c drop=25%\n"
      "place bay temperature=-20C..60C\nplace dash temperature=-20C..60C\nplace back "
      "temperature=-20C..50C\n"
      "run front bay dash 1.5m\nrun loom dash back 3m\n"
      "part G1 battery-12 at=bay is=host capacity=100Ah cranking=800A\n"
      "part KEY key-switch at=dash is=host rating=400A\n"
      "element KEY.ignition resistance=0.5mohm\n"
      "part F0 fuse-bolt-51 at=bay\npart FEED stud at=dash\n"
      "part XG0 ground at=bay is=host\npart XG1 ground at=dash\npart XG2 ground at=back\n"
      "wire V0 G1.- XG0.1 BK 50mm2 length=0.4m is=host\n"
      "wire V1 G1.+ F0.1 RD auto length=0.15m\n"
      "wire V2 F0.2 FEED.1 RD auto via=front\n"
      "wire V3 FEED.1 KEY.30 RD auto length=0.3m\n"
      "part KEYED stud at=dash\nwire V4 KEY.15 KEYED.1 BK auto length=0.3m\n");
  for (int k = 1; k <= switches; k++)
    g_string_append_printf(
        text,
        "part S%d switch-on-off at=dash rating=100A\nelement S%d.contact resistance=1mohm\n"
        "wire S%d KEYED.1 S%d.1 BK/RD auto length=0.3m\n",
        k, k, k, k);
  for (int i = 1; i <= circuits; i++)
    one_circuit(text, i, switches);
  return g_string_free(text, FALSE);
}
