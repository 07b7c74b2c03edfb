// scratch
#include "clicks.h"
#include "room.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
int
main(int argc, char** argv)
{
  double rate = 48000, P = atof(argv[1]) * rate, delay = atof(argv[2]) * rate + 0.37,
         lev = pow(10, atof(argv[3]) / 20), rt = atof(argv[4]),
         drift = argc > 5 ? atof(argv[5]) * 1e-6 : 0, floor_ = argc > 6 ? atof(argv[6]) : -60;
  SrClickSetting s = setting_make(rate, P, 4, 4, rate * 0.3);
  size_t n = (size_t)(rate * 0.3 + P * 24);
  float *x = calloc(n, 4), *al = calloc(n, 4), *y = malloc(n * 4);
  Random r = {7};
  room_noise(x, n, rate, floor_, &r);
  ClickWay w = {
      .delay = delay, .level = lev, .rt60_s = rt, .direct_db = 4, .drift = drift, .seed = 3};
  clicks_add(&s, &w, x, n, al);
  memcpy(y, x, n * 4);
  SrClickRemover* rm;
  SrError e;
  if (sr_click_remover_new(&s, &rm, &e) != SR_OK) {
    puts(e.message);
    return 1;
  }
  for (size_t a = 0; a < n; a += 1000)
    sr_click_remover_do(rm, y + a, n - a < 1000 ? n - a : 1000);
  for (int k = 0; k < 24; k++) {
    size_t a = (size_t)(s.began + delay + k * P * (1 + drift));
    double c[3] = {0}, l[3] = {0};
    size_t len[3] = {(size_t)(.03 * rate), (size_t)(.1 * rate), (size_t)(.3 * rate)};
    for (int m = 0; m < 3; m++)
      for (size_t i = a; i < a + len[m] && i < n; i++) {
        double left = y[i] - (x[i] - al[i]);
        c[m] += al[i] * al[i];
        l[m] += left * left;
      }
    printf("k %d: 30ms %.1f dB  100ms %.1f 300ms %.1f; peaklevel rms30 %.1f dBFS\n", k,
           10 * log10(l[0] / c[0] + 1e-12), 10 * log10(l[1] / c[1] + 1e-12),
           10 * log10(l[2] / c[2] + 1e-12), 10 * log10(c[0] / len[0]));
  }
  SrClickHeard h = sr_click_remover_heard(rm);
  printf("heard %d rt %.2f (true %.2f) spread %.3f n %u level %.1f left %.1f\n", h.heard,
         h.round_trip, delay, h.spread, h.arrivals, h.level_db, h.left_db);
}
