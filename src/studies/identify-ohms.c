/* Resistance distances and conductances: the one from the other, both ways, and what both need of
 * symmetric matrices. */
#include "studies/identify-private.h"
#include <math.h>
#include <string.h>

/* Lower factor in place; the strict upper part is left alone. */
static gboolean factor(int n, double a[])
{
  for (int k = 0; k < n; k++) {
    double *const row = a + k * n;
    const double whole = row[k];
    for (int j = 0; j <= k; j++) {
      const double *const other = a + j * n;
      double sum = row[j];
      for (int i = 0; i < j; i++)
        sum -= row[i] * other[i];
      if (j < k)
        row[j] = sum / other[j];
      else if (!(sum > 1e-15 * fabs(whole)))
        return FALSE;
      else
        row[k] = sqrt(sum);
    }
  }
  return TRUE;
}

static void solve_factored(int n, const double l[], double b[])
{
  for (int i = 0; i < n; i++) {
    for (int k = 0; k < i; k++)
      b[i] -= l[i * n + k] * b[k];
    b[i] /= l[i * n + i];
  }
  for (int i = n - 1; i >= 0; i--) {
    b[i] /= l[i * n + i];
    for (int k = 0; k < i; k++)
      b[k] -= l[i * n + k] * b[i];
  }
}

gboolean lg_spd_solve(int n, double a[], double b[])
{
  if (!factor(n, a))
    return FALSE;
  solve_factored(n, a, b);
  return TRUE;
}

/* Inverse of the lower factor in place, then its transpose times itself. */
gboolean lg_spd_invert(int n, double a[])
{
  if (!factor(n, a))
    return FALSE;
  for (int i = 0; i < n; i++) {
    double *const row = a + i * n;
    const double pivot = 1 / row[i];
    for (int j = 0; j < i; j++) {
      double sum = 0;
      for (int k = j; k < i; k++)
        sum -= row[k] * a[k * n + j];
      row[j] = sum * pivot; /* columns right of j are still the factor's */
    }
    row[i] = pivot;
  }
  for (int i = 0; i < n; i++)
    for (int j = 0; j <= i; j++) {
      double sum = 0;
      for (int k = i; k < n; k++)
        sum += a[k * n + i] * a[k * n + j];
      a[i * n + j] = sum; /* row i of the factor is not needed below */
    }
  for (int i = 0; i < n; i++)
    for (int j = 0; j < i; j++)
      a[j * n + i] = a[i * n + j];
  return TRUE;
}

gboolean lg_ohms_of_conductances(int n, const double conductance_S[], double ohm[])
{
  g_return_val_if_fail(n >= 1, FALSE);
  const int m = n - 1;
  g_autofree double *inverse = g_new0(double, (gsize)m *(gsize)m + 1);
  for (int i = 0; i < m; i++)
    for (int j = 0; j < n; j++) {
      if (j == i)
        continue;
      inverse[i * m + i] += conductance_S[i * n + j];
      if (j < m)
        inverse[i * m + j] = -conductance_S[i * n + j];
    }
  if (!lg_spd_invert(m, inverse))
    return FALSE;
  for (int i = 0; i < n; i++)
    for (int j = 0; j < n; j++) {
      const double own = i < m ? inverse[i * m + i] : 0, other = j < m ? inverse[j * m + j] : 0,
                   shared = i < m && j < m ? inverse[i * m + j] : 0;
      ohm[i * n + j] = i == j ? 0 : own + other - 2 * shared;
    }
  return TRUE;
}

gboolean lg_conductances_of_ohms(int n, const double ohm[], double conductance_S[])
{
  g_return_val_if_fail(n >= 1, FALSE);
  const int m = n - 1;
  g_autofree double *laplacian = g_new(double, (gsize)m *(gsize)m + 1);
  for (int i = 0; i < m; i++)
    for (int j = 0; j < m; j++)
      laplacian[i * m + j] = (ohm[i * n + m] + ohm[j * n + m] - ohm[i * n + j]) / 2;
  if (!lg_spd_invert(m, laplacian))
    return FALSE;
  memset(conductance_S, 0, (gsize)n * (gsize)n * sizeof *conductance_S);
  for (int i = 0; i < m; i++) {
    double to_last = 0;
    for (int j = 0; j < m; j++) {
      to_last += laplacian[i * m + j];
      if (j != i)
        conductance_S[i * n + j] = -laplacian[i * m + j];
    }
    conductance_S[i * n + m] = conductance_S[m * n + i] = to_last;
  }
  return TRUE;
}
