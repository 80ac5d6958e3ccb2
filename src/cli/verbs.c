#include "cli.h"

const CliVerb *const cli_verbs[] = {
    &cli_check,  &cli_size,     &cli_state,  &cli_compare, &cli_simulate,
    &cli_faults, &cli_identify, &cli_locate, &cli_packet,  &cli_workbench,
    &cli_tidy,   &cli_explain,  &cli_new,    NULL};
