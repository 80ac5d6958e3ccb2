/* Inside the public face: what an opened sheet holds. */
#pragma once
#include "loomgraft.h"
#include "packet/packet.h"

struct LgJobSheet {
  LgSheet *sheet;
  LgCatalogue *catalogue;
  LgJob *job; /* NULL while the sheet has problems */
};

/* The job, or NULL with LG_ERROR_SHEET. */
const LgJob *lg_job_sheet_job(const LgJobSheet *sheet, GError **error);
