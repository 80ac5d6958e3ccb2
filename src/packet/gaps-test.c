/* A sheet with gaps still gives every paper; the gap is printed as one. */
#include "packet/packet.h"
#include "packet/test-job.h"
#include <glib/gstdio.h>

static char *write_packet(const char *sheet, gboolean share)
{
  TestJob test;
  test_job_init(&test, sheet);
  char *const folder = g_dir_make_tmp("gaps-XXXXXX", NULL);
  g_autoptr(GPtrArray) findings = lg_checks_run(test.job, test.sizing);
  g_autoptr(GError) error = NULL;
  const LgPacketOptions options = {.share = share};
  g_assert_true(lg_packet_write(test.sizing, findings, folder, &options, NULL, &error));
  g_assert_no_error(error);
  test_job_clear(&test);
  return folder;
}

static void check_files(const char *folder)
{
  static const char *const files[] = {"packet.pdf", "guide.pdf",  "write-up.html", "diagram.pdf",
                                      "routes.pdf", "labels.pdf", "wires.csv",     "order.csv"};
  for (gsize i = 0; i < G_N_ELEMENTS(files); i++) {
    g_autofree char *path = g_build_filename(folder, files[i], NULL);
    if (!g_file_test(path, G_FILE_TEST_IS_REGULAR))
      g_error("%s was not written", files[i]);
  }
}

static char *page_of(const char *folder)
{
  g_autofree char *path = g_build_filename(folder, "write-up.html", NULL);
  char *page = NULL;
  g_assert_true(g_file_get_contents(path, &page, NULL, NULL));
  return page;
}

static void remove_folder(const char *folder)
{
  g_autoptr(GDir) dir = g_dir_open(folder, 0, NULL);
  for (const char *name; (name = g_dir_read_name(dir)) != NULL;) {
    g_autofree char *path = g_build_filename(folder, name, NULL);
    g_unlink(path);
  }
  g_rmdir(folder);
}

static void check_gap(const char *sheet, const char *const wanted[])
{
  g_autofree char *folder = write_packet(sheet, FALSE);
  check_files(folder);
  g_autofree char *page = page_of(folder);
  for (int i = 0; wanted[i] != NULL; i++)
    if (strstr(page, wanted[i]) == NULL)
      g_error("the write-up does not say \"%s\"", wanted[i]);
  remove_folder(folder);
}

#define CIRCUIT                                                                                    \
  "job \"Gaps\" nominal=12V by=\"Ilse Brandt\" private=\"Mill Lane\"\n"                            \
  "place bay\nplace cabin\n"                                                                       \
  "part G1 battery-12 at=bay capacity=60Ah\npart XG1 ground at=bay\n"                              \
  "part F1 fuse-blade at=bay\npart S1 switch-on-off at=cabin\n"                                    \
  "part SEAT assembly at=cabin is=donor \"seat from Mill Lane\"\n"                                 \
  "pin SEAT.1 evidence=told said-by=\"Otto\" \"plus, says Otto\"\npin SEAT.2\n"                    \
  "element SEAT.pad heater 1 2 power=40W\n"                                                        \
  "wire W0 G1.- XG1.1 BK 16mm2 length=0.4m\n"                                                      \
  "wire W1 G1.+ F1.1 RD auto length=0.2m\n"                                                        \
  "wire W3 S1.2 SEAT.1 RD auto length=0.6m\n"

static void test_face_without_layout(void)
{
  static const char *const wanted[] = {"does not say how its cavities lie", NULL};
  check_gap(CIRCUIT "wire W2 F1.2 S1.1 RD auto length=2m\nwire W4 SEAT.2 XG1.1 BN auto length=2m\n",
            wanted);
}

static void test_run_without_length(void)
{
  static const char *const wanted[] = {"Lay run floor", NULL};
  check_gap(CIRCUIT "run floor bay cabin\n"
                    "wire W2 F1.2 S1.1 RD auto via=floor length=2m\n"
                    "wire W4 SEAT.2 XG1.1 BN auto via=floor length=2m\n",
            wanted);
}

static void test_runs_in_a_ring(void)
{
  static const char *const wanted[] = {"Lay run left", "Lay run right", NULL};
  check_gap(CIRCUIT "run left bay cabin 2m\nrun right cabin bay 3m\n"
                    "wire W2 F1.2 S1.1 RD auto via=left\n"
                    "wire W4 SEAT.2 XG1.1 BN auto via=right,left,right\n",
            wanted);
}

#define PHOTO                                                                                      \
  "wire W2 F1.2 S1.1 RD auto length=2m\nwire W4 SEAT.2 XG1.1 BN auto length=2m\n"                  \
  "photo P1 file=\"otto.jpg\" of=SEAT by=\"Otto\" \"the plug at Mill Lane\"\n"                     \
  "chapter c after=parts \"Wired already?\"\nnote N1 of=c \"Look under the mat.\"\n"               \
  "note N2 is=failed date=2026-02-03 by=\"Otto\" \"the first fuse was too small\"\n"

static void test_missing_photo(void)
{
  static const char *const wanted[] = {"Photo otto.jpg is missing: there is no such file",
                                       "Look under the mat.",
                                       "Failed, 2026-02-03",
                                       "the first fuse was too small",
                                       "the plug at Mill Lane",
                                       "known told",
                                       NULL};
  check_gap(CIRCUIT PHOTO, wanted);
}

/* Names of people and private words, wherever they stand; also in texts about other things. */
static void test_share_hides(void)
{
  g_autofree char *folder = write_packet(CIRCUIT PHOTO, TRUE);
  g_autofree char *page = page_of(folder);
  static const char *const hidden[] = {"Ilse", "Brandt", "Otto", "otto.jpg", "Mill Lane"};
  for (gsize i = 0; i < G_N_ELEMENTS(hidden); i++)
    if (strstr(page, hidden[i]) != NULL)
      g_error("the share form says \"%s\"", hidden[i]);
  g_assert_nonnull(strstr(page, "plus, says (left out)"));
  g_assert_nonnull(strstr(page, "A photo is missing here."));
  remove_folder(folder);
}

int main(int argc, char **argv)
{
  g_test_init(&argc, &argv, NULL);
  g_test_add_func("/gaps/face-without-layout", test_face_without_layout);
  g_test_add_func("/gaps/run-without-length", test_run_without_length);
  g_test_add_func("/gaps/runs-in-a-ring", test_runs_in_a_ring);
  g_test_add_func("/gaps/missing-photo", test_missing_photo);
  g_test_add_func("/gaps/share-hides", test_share_hides);
  return g_test_run();
}
