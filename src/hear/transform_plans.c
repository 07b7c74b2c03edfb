// SPDX-License-Identifier: GPL-3.0-or-later

#include "transform_plans.h"

#include <pthread.h>

void
sr_transform_plans_share(void)
{
  static pthread_once_t once = PTHREAD_ONCE_INIT;
  pthread_once(&once, fftwf_make_planner_thread_safe);
}

fftwf_plan
sr_transform_plan(const size_t size, float* const samples, fftwf_complex* const bins)
{
  sr_transform_plans_share();
  return fftwf_plan_dft_r2c_1d((int)size, samples, bins, FFTW_ESTIMATE);
}

fftwf_plan
sr_transform_plan_back(const size_t size, fftwf_complex* const bins, float* const samples)
{
  sr_transform_plans_share();
  return fftwf_plan_dft_c2r_1d((int)size, bins, samples, FFTW_ESTIMATE);
}

fftwf_plan
sr_transform_plan_complex(const size_t size, fftwf_complex* const from, fftwf_complex* const to,
                          const int sign)
{
  sr_transform_plans_share();
  return fftwf_plan_dft_1d((int)size, from, to, sign, FFTW_ESTIMATE);
}
