/* Golden drawings of circuits and faces. */
#include "drawing-testing.h"
#include "drawing/face.h"
#include "drawing/flow.h"

static const char lamp_job[] =
    "job \"Reading lamp\" nominal=12V\n"
    "part G1 battery-12 capacity=60Ah\npart XG1 ground\npart XG2 ground\n"
    "part F1 fuse-blade rating=10A\npart K1 relay-change-d \"lamp\"\n"
    "part S1 switch-on-off\npart E1 lamp power=10W \"over the shelf\"\n"
    "wire V1 G1.- XG1.1 BK 16mm2 length=0.4m\nwire W1 G1.+ F1.1 RD 1.5mm2 length=0.2m\n"
    "wire W2 F1.2 K1.30 RD/WH 1.5mm2 length=1m\nwire W3 K1.87 E1.1 GN/YE 1.5mm2 length=1m\n"
    "wire W4 E1.2 XG2.1 BN 1.5mm2 length=1m\nwire W5 F1.2 S1.1 RD 0.5mm2 length=1m\n"
    "wire W6 S1.2 K1.86 BU 0.5mm2 length=1m\nwire W7 K1.85 XG2.1 BN 0.5mm2 length=1m\n";

static const char plug_job[] =
    "job \"Plug\" nominal=12V\npart G1 battery-12 capacity=60Ah\n"
    "part X1 assembly face=2x3 view=wire latch=right housing=\"white\" is=donor \"seat plug\"\n"
    "pin X1.1 colour=RD/YE evidence=document \"feed\"\npin X1.2 fitted=no\n"
    "pin X1.3 colour=BU evidence=told said-by=\"a label\" \"lamp?\"\n"
    "pin X1.4 colour=YE restraint=yes \"buckle\"\npin X1.5 colour=BN evidence=document \"return\"\n"
    "element X1.pad heater 1 5 power=30W\nwire W1 G1.+ X1.1 RD/YE 1.5mm2 length=1m\n"
    "wire W5 X1.5 G1.- BN 1.5mm2 length=1m\n";

static void test_flow(void)
{
  TestJob test;
  test_job_init(&test, lamp_job);
  const LgFlowOptions options = {.width_mm = 297, .height_mm = 210};
  g_autoptr(GPtrArray) sheets = lg_flow_new(test.job, &options);
  g_assert_cmpuint(sheets->len, ==, 1);
  test_golden(sheets->pdata[0], "lamp-flow.svg");
  test_job_clear(&test);
}

static void test_flow_in_a_state(void)
{
  TestJob test;
  test_job_init(&test, lamp_job);
  g_autoptr(GError) error = NULL;
  g_autoptr(LgCircuit) circuit = lg_circuit_new(test.job, LG_DAY_MILD, NULL, &error);
  g_assert_no_error(error);
  g_autoptr(LgPoint) point = lg_point_new(circuit);
  LgNetWork *const work = lg_net_work_new(circuit->net);
  point->position[lg_job_find_input(test.job, "S1")] = 1;
  lg_circuit_solve(circuit, work, point);
  lg_net_work_free(work);
  const LgFlowOptions options = {.width_mm = 297, .height_mm = 210, .point = point};
  g_autoptr(GPtrArray) sheets = lg_flow_new(test.job, &options);
  test_nothing_overlaps(sheets->pdata[0]);
  test_golden(sheets->pdata[0], "lamp-flow-on.svg");
  test_job_clear(&test);
}

static void test_face(void)
{
  TestJob test;
  test_job_init(&test, plug_job);
  g_autoptr(LgDrawing) face = lg_face_new(test.job, lg_job_find_part(test.job, "X1"), 190, NULL);
  test_nothing_overlaps(face);
  test_golden(face, "plug-face.svg");
  test_job_clear(&test);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/golden/flow", test_flow);
  g_test_add_func("/golden/flow in a state", test_flow_in_a_state);
  g_test_add_func("/golden/face", test_face);
  return g_test_run();
}
