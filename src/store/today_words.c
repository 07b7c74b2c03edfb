// SPDX-License-Identifier: GPL-3.0-or-later

// Why something was chosen for today, in words.

#include <steadyreed/today.h>

#include <math.h>
#include <stdio.h>

/// A share over this is of nearly all.
#define NEARLY_ALL 0.85
/// The largest whole number that is written as a word.
#define MOST_WORD 9

/// "yesterday", or "3 days ago".
static void
name_rest(const int days, char* const words, const size_t size)
{
  if (days == 1) {
    snprintf(words, size, "yesterday");
  } else {
    snprintf(words, size, "%d days ago", days);
  }
}

/// "about one cut in two", or "nearly every cut".
static void
name_share(const char* const one, const unsigned part, const unsigned all, char* const words,
           const size_t size)
{
  static const char* const numbers[MOST_WORD + 1] = {"",     "",    "two",   "three", "four",
                                                     "five", "six", "seven", "eight", "nine"};
  const double share = all > 0 ? (double)part / all : 1.0;
  const long in = lround(1.0 / share);
  if (share >= NEARLY_ALL) {
    snprintf(words, size, "nearly every %s", one);
  } else if (in < 2) {
    snprintf(words, size, "two %ss in three", one);
  } else if (in <= MOST_WORD) {
    snprintf(words, size, "about one %s in %s", one, numbers[in]);
  } else {
    snprintf(words, size, "one %s in %ld", one, in);
  }
}

/// What went wrong most often in a bar.
static void
name_fault(const SrBarFigures* const bar, char* const words, const size_t size)
{
  const struct {
    unsigned faults;
    unsigned of;
    const char* one;
    const char* what;
  } kinds[] = {
      {bar->cuts_faulty, bar->cuts, "cut", "not clean"},
      {bar->wrong, bar->notes, "note", "missed or wrong"},
      {bar->joined, bar->rounds, "round", "with notes run together"},
      {bar->slips, bar->rounds, "round", "with a break in the flow"},
      {bar->inserted, bar->rounds, "round", "with a note too many"},
      {bar->air_heard, bar->rounds, "round", "with air to be heard"},
  };
  size_t most = 0;
  for (size_t i = 1; i < sizeof(kinds) / sizeof(kinds[0]); ++i) {
    most = kinds[i].faults > kinds[most].faults ? i : most;
  }
  char place[24] = "pickup";
  char share[48];
  if (bar->bar > 0) {
    snprintf(place, sizeof(place), "bar %d", bar->bar);
  }
  name_share(kinds[most].one, kinds[most].faults, kinds[most].of, share, sizeof(share));
  snprintf(words, size, "%s: %s %s", place, share, kinds[most].what);
}

const char*
sr_today_why(const SrTodayItem* const item, char words[SR_TODAY_WHY_SIZE])
{
  const bool unclean_drill = item->kind != SR_TODAY_BARS && item->interval == 1;
  char rest[48];
  name_rest(item->rested, rest, sizeof(rest));
  if (item->reason == SR_TODAY_NEW) {
    snprintf(words, SR_TODAY_WHY_SIZE, "new for you");
  } else if (item->reason == SR_TODAY_FAULTS && item->worst.faults > 0) {
    name_fault(&item->worst, words, SR_TODAY_WHY_SIZE);
  } else if (item->today) {
    snprintf(words, SR_TODAY_WHY_SIZE, "played today, as part of a longer stretch");
  } else if (unclean_drill) {
    snprintf(words, SR_TODAY_WHY_SIZE, "not clean yet, %s", rest);
  } else if (item->reason == SR_TODAY_RESTED && item->rested > 1) {
    snprintf(words, SR_TODAY_WHY_SIZE, "longest rested: %d days", item->rested);
  } else {
    snprintf(words, SR_TODAY_WHY_SIZE, "its turn; last played %s", rest);
  }
  return words;
}
