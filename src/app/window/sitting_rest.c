// SPDX-License-Identifier: GPL-3.0-or-later

// Whoever rests goes on by playing: a session without a phrase listens for it. One sound may be a
// word or a knock, so three notes must come soon after one another.

#include "sitting_state.h"

#include <math.h>

/// The three notes end within this, s.
#define WOKEN_S 4.0
/// It listens for this long, s: who has left should not leave a microphone open for the night.
#define MOST_S 1800.0

void
sr_sitting_rest(SrSitting* const sitting)
{
  if (sr_sitting_is_open(sitting) || sitting->again || sitting->rest_tried ||
      sitting->session_number == 0) {
    return;
  }
  sitting->rest_listens = true;
  sitting->rest_tried = true;
  sitting->ending = false;
  sitting->rest_notes_s[0] = sitting->rest_notes_s[1] = (double)NAN;
  SrSessionSettings settings = sr_session_settings_default();
  settings.stream = sitting->settings.stream;
  settings.stream.input = sitting->input_name;
  settings.stream.output = sitting->output_name;
  settings.silence_s = MOST_S;
  settings.first_wait_s = MOST_S;
  const bool measured = sr_setup_read(&sitting->setup, NULL) == SR_OK;
  settings.setup = measured ? &sitting->setup : NULL;
  sr_sitting_open(sitting, NULL, &settings);
}

bool
sr_sitting_take_rest_event(SrSitting* const sitting, const SrSessionEvent* const event)
{
  if (event->kind == SR_SESSION_HEARD && !event->heard.goes_on && !sitting->ending) {
    const double since_s = sitting->rest_notes_s[0];
    sitting->rest_notes_s[0] = sitting->rest_notes_s[1];
    sitting->rest_notes_s[1] = event->heard.end_s;
    if (event->heard.end_s - since_s <= WOKEN_S) {
      g_signal_emit_by_name(sitting, "woken");
    }
  }
  return event->kind != SR_SESSION_END;
}
