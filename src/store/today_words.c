// SPDX-License-Identifier: GPL-3.0-or-later

// Why something was chosen for today, in words.

#include <steadyreed/today.h>

#include <stdio.h>

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

const char*
sr_today_why(const SrTodayItem* const item, char words[SR_TODAY_WHY_SIZE])
{
  char rest[32];
  name_rest(item->rested, rest, sizeof(rest));
  switch (item->reason) {
  case SR_TODAY_NEW:
    snprintf(words, SR_TODAY_WHY_SIZE, "never played yet");
    break;
  case SR_TODAY_FAULTS:
    snprintf(words, SR_TODAY_WHY_SIZE, "%.1f faults a round, last played %s", item->faults, rest);
    break;
  case SR_TODAY_RESTED:
    if (item->interval == 1) {
      snprintf(words, SR_TODAY_WHY_SIZE, "last played %s, and due every day", rest);
    } else {
      snprintf(words, SR_TODAY_WHY_SIZE, "last played %s, and due after %d", rest, item->interval);
    }
    break;
  case SR_TODAY_TURN:
    snprintf(words, SR_TODAY_WHY_SIZE, "last played %s; nothing of its kind is more due", rest);
    break;
  }
  return words;
}
