/* loomgraft: from a job sheet to a sized, checked and documented circuit. The public face of the
 * engine.
 *
 * A job sheet is opened, problems in it are asked for, and each study returns a report: findings,
 * tables and notes as plain data, printed as text, JSON or CSV. All texts are UTF-8. Functions that
 * return `char *` or GBytes hand them over (g_free, g_bytes_unref). GError is set exactly when a
 * function says that it failed. Nothing here prints, and nothing is global: sheets may be used from
 * several threads, one thread a sheet. */
#pragma once
#include <glib.h>

G_BEGIN_DECLS

#if defined(__GNUC__)
#define LG_API __attribute__((visibility("default")))
#else
#define LG_API
#endif

typedef struct LgJobSheet LgJobSheet;
typedef struct LgReport LgReport;

#define LG_ERROR (lg_error_quark())
LG_API GQuark lg_error_quark(void);
typedef enum {
  LG_ERROR_SHEET,   /* the sheet has problems; ask lg_job_sheet_problems_text */
  LG_ERROR_CALL,    /* the call is wrong: an unknown rule, an unknown input or position */
  LG_ERROR_SAVE,    /* a file could not be written */
  LG_ERROR_STOPPED, /* the caller's `stop` said so */
} LgError;

LG_API const char *lg_version(void);

/* Opens a sheet. NULL and an error of GFile's kind when the file cannot be read. A sheet with
 * problems opens. */
LG_API LgJobSheet *lg_job_sheet_open(const char *path, GError **error);
/* The same from bytes; `name` stands in messages. Never NULL. */
LG_API LgJobSheet *lg_job_sheet_new(const char *name, GBytes *bytes);
LG_API void lg_job_sheet_free(LgJobSheet *sheet);

/* Takes a variant of the sheet for all that follows; NULL: the sheet without any. LG_ERROR_CALL,
 * naming those that there are, for an unknown one. Its problems are then among the sheet's. */
LG_API gboolean lg_job_sheet_take_variant(LgJobSheet *sheet, const char *name, GError **error);
/* Names of the sheet's variants, NULL-ended (g_strfreev). */
LG_API char **lg_job_sheet_variants(const LgJobSheet *sheet);
/* The language of its texts, "en" where the sheet says none; static. */
LG_API const char *lg_job_sheet_language(const LgJobSheet *sheet);
/* A text of the program in that language; itself where there is no translation. Lives as long as
 * `english` and the program do. */
LG_API const char *lg_translate(const char *english, const char *language);

LG_API guint lg_job_sheet_n_problems(const LgJobSheet *sheet);
/* "file:line:column: what is wrong" and a line that says what to do, for each; "" when there is
 * none. */
LG_API char *lg_job_sheet_problems_text(const LgJobSheet *sheet);
/* {"loomgraft": 1, "verb": ..., "problems": [{"file", "line", "column", "what", "remedy"}]} */
LG_API char *lg_job_sheet_problems_json(const LgJobSheet *sheet, const char *verb);

/* Studies. A report points into its sheets, which must outlive it. NULL with LG_ERROR_SHEET when
 * the sheet has problems, or when it has no source of power.
 */
LG_API LgReport *lg_check(LgJobSheet *sheet, GError **error);
LG_API LgReport *lg_size(LgJobSheet *sheet, GError **error);
/* `settings`: NULL-ended "INPUT=position"; inputs not named are at rest. LG_ERROR_CALL for an
 * unknown one. */
LG_API LgReport *lg_state(LgJobSheet *sheet, const char *const settings[], GError **error);
/* What the second way changes against the first: currents, drops, heat, parts, copper, findings.
 * The sheets may be two openings of one file, each with its own variant. */
LG_API LgReport *lg_compare(LgJobSheet *first, LgJobSheet *second, GError **error);
/* What is asked of a fault campaign; all 0 is a good choice. */
typedef struct {
  guint64 most_pairs; /* pairs of fault and state up to which every state is solved; 0: 1e6 */
  int threads;        /* 0: one; the result is the same */
  int remedies;       /* causes for which remedies are tried; 0: 6, -1: none */
  int pairs_among;    /* two faults at once, among so many of the worst; 0: none */
  gboolean every;     /* a table with each fault in a row of its own, too */
  gboolean (*stop)(double share, gpointer user); /* TRUE stops: LG_ERROR_STOPPED; or NULL */
  gpointer user;
} LgFaultsAsk;
/* Every single fault in every state, and what comes of it. `ask` may be NULL. */
LG_API LgReport *lg_faults(LgJobSheet *sheet, const LgFaultsAsk *ask, GError **error);
typedef struct {
  const char *folder; /* where the samples and plots are written; NULL: nowhere */
  gboolean (*stop)(double share, gpointer user); /* TRUE stops and keeps what there is; or NULL */
  gpointer user;
} LgSimulateAsk;
/* Runs the sheet's `use` of that name through time. LG_ERROR_CALL, naming those that there are, for
 * an unknown one. */
LG_API LgReport *lg_simulate(LgJobSheet *sheet, const char *use, const LgSimulateAsk *ask,
                             GError **error);
/* What is asked of a packet; all 0 is a good choice. */
typedef struct {
  gboolean share;       /* the write-up leaves out who wrote, measured and said what */
  const char *labels;   /* the label sheet to print on; NULL: a common one of the job's paper */
  const char *language; /* "en", "de"; NULL: as the sheet's job record says */
  gboolean (*stop)(double share, gpointer user); /* TRUE stops: LG_ERROR_STOPPED; or NULL */
  gpointer user;
} LgPacketAsk;
/* Writes the packet (PDF, write-up in HTML, CSV) into `folder`; the report lists the files. When it
 * is stopped, those that are written already stay. `ask` may be NULL. LG_ERROR_CALL, naming those
 * that there are, for an unknown label sheet or language. */
LG_API LgReport *lg_packet(LgJobSheet *sheet, const char *folder, const LgPacketAsk *ask,
                           GError **error);

/* What lies behind the cavities of the part `part`, from the sheet's readings; needs no source of
 * power. LG_ERROR_CALL for an unknown part or one with more than 40 pins. */
LG_API LgReport *lg_identify(LgJobSheet *sheet, const char *part, GError **error);
/* The records to paste alone, as text: pins that take the place of those of the same name, new
 * elements. Errors as above. */
LG_API char *lg_identify_records(LgJobSheet *sheet, const char *part, GError **error);

typedef struct {
  const char *const *readings; /* words such as "E1 runs=no when KEY=on", NULL-ended; NULL: none */
  int pairs_among;             /* two faults at once, among so many suspects; 0: none */
  gboolean guides;             /* the troubleshooting guide, a table for each symptom, too */
} LgLocateAsk;
/* Where a fault of the built job is, from what was seen: from `ask` (may be NULL), and from the
 * sheet's readings of the built job. LG_ERROR_CALL for words that say nothing. */
LG_API LgReport *lg_locate(LgJobSheet *sheet, const LgLocateAsk *ask, GError **error);

/* Editing. The language for forms, as JSON (docs/workbench.md, `/job/schema`). */
LG_API char *lg_schema_json(void);
/* What stands in the sheet, as JSON: title, inputs, variants, records, problems (docs/workbench.md,
 * `/job`, without the server's own keys). */
LG_API char *lg_job_sheet_json(const LgJobSheet *sheet);
/* Makes the edits (a JSON list, docs/workbench.md, `/job/edits`), all or none; the new text. The
 * sheet stays as it is. LG_ERROR_CALL with what and remedy in the message, parted by a line end. */
LG_API GBytes *lg_job_sheet_edit(const LgJobSheet *sheet, const char *edits, GError **error);

/* A sheet sized, checked and ready for questions while it is edited. One thread at a time. */
typedef struct LgLive LgLive;
/* Takes as long as a check. NULL as for the studies. The sheet may be freed. */
LG_API LgLive *lg_live_new(const LgJobSheet *sheet, GError **error);
LG_API void lg_live_free(LgLive *live);
/* One state solved, as JSON (docs/workbench.md, `/live`); `fault`: NULL or a key of
 * lg_live_faults_json. LG_ERROR_CALL for an unknown input, position or fault. */
LG_API char *lg_live_state_json(LgLive *live, const char *const settings[], const char *fault,
                                GError **error);
/* The faults that can be put on a thing: kind "wire", "pin", "part" or "element". */
LG_API char *lg_live_faults_json(LgLive *live, const char *kind, const char *name, GError **error);
/* All that is known of a thing in this state and in its worst (docs/workbench.md, `/about`). */
LG_API char *lg_live_about_json(LgLive *live, const char *kind, const char *name,
                                const char *const settings[], GError **error);
/* The check's findings (docs/workbench.md, `/findings`). */
LG_API char *lg_live_findings_json(LgLive *live);
/* Remedies of one finding, each tried by running the check again on the edited sheet. */
LG_API char *lg_live_prove_json(LgLive *live, const char *finding, GError **error);
/* The drawings there are, and one of them: `sheet` from 1, 0: all (PDF only); `format` "svg",
 * "png", "pdf". */
LG_API char *lg_live_drawings_json(LgLive *live);
LG_API GBytes *lg_live_drawing(LgLive *live, const char *name, guint sheet, const char *format,
                               GError **error);
/* The diagram of one state, with its currents, volts and temperatures written in; as
 * lg_live_drawing. */
LG_API GBytes *lg_live_state_drawing(LgLive *live, const char *const settings[], guint sheet,
                                     const char *format, GError **error);
/* The packet's tables: a list of keys and titles, and one of them as JSON or CSV. */
LG_API char *lg_live_tables_json(LgLive *live);
LG_API char *lg_live_table(LgLive *live, const char *key, gboolean csv, GError **error);

/* The sheet's text with the sizes found written in place of `auto`; NULL as for the studies. */
LG_API GBytes *lg_sized_text(LgJobSheet *sheet, GError **error);
/* The tidy form of the text. NULL with LG_ERROR_SHEET when it has problems of form. */
LG_API GBytes *lg_tidy_text(LgJobSheet *sheet, GError **error);
/* The text as it was opened. */
LG_API GBytes *lg_job_sheet_text(const LgJobSheet *sheet);
/* Replaces a file atomically and durably: it is always the old or the new one, whole. */
LG_API gboolean lg_write_file(const char *path, GBytes *bytes, GError **error);

/* A starter sheet to fill in; `title` may be NULL. */
LG_API char *lg_starter_text(const char *title);
/* The page of a rule, a kind of record, or a list of the catalogue ("rules", "types", "wire", ...).
 * NULL topic: the topics there are. NULL with LG_ERROR_CALL, naming near misses, for an unknown
 * topic. */
LG_API char *lg_explain(const char *topic, GError **error);
/* loomgraft-job(5): the manual page of the language, from the schema. */
LG_API char *lg_job_manual(void);

/* Reports. */
LG_API void lg_report_free(LgReport *report);
/* Number of findings that stand against building (danger and fault). */
LG_API guint lg_report_n_against(const LgReport *report);
/* For people; `width` columns (0: no wrapping); colour by SGR codes. */
LG_API char *lg_report_text(const LgReport *report, int width, gboolean colour);
LG_API char *lg_report_json(const LgReport *report);
LG_API guint lg_report_n_tables(const LgReport *report);
LG_API const char *lg_report_table_key(const LgReport *report, guint table);
LG_API char *lg_report_table_csv(const LgReport *report, guint table);

G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgJobSheet, lg_job_sheet_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgLive, lg_live_free)
#ifndef LG_REPORT_AUTOPTR
#define LG_REPORT_AUTOPTR
G_DEFINE_AUTOPTR_CLEANUP_FUNC(LgReport, lg_report_free)
#endif

G_END_DECLS
