// SPDX-License-Identifier: GPL-3.0-or-later

// State of a sitting in the window, for its own files: one_sitting.c, sitting_events.c,
// sitting_position.c, sitting_rest.c.

#ifndef SR_WINDOW_SITTING_STATE_H
#define SR_WINDOW_SITTING_STATE_H

#include "history_queue.h"
#include "one_sitting.h"

G_BEGIN_DECLS

struct _SrSitting {
  GObject parent_instance;
  SrSittingPhase phase;
  SrChosen* chosen;
  SrSessionSettings settings;
  char* input_name; ///< As in the settings
  char* output_name;
  SrSetup setup;
  SrHistoryQueue* history;
  SrSession* session;
  unsigned session_number; ///< From 1
  guint source;
  bool ending; ///< The end was asked for
  bool again;  ///< Begin again once it has ended
  SrChosen* next;
  SrSessionSettings next_settings;
  SrNoteVerdict* notes;
  size_t reached;
  GPtrArray* rounds;
  unsigned counted;
  double counted_s; ///< When the last click of the count-in was heard
  unsigned count;
  double bpm;
  double rate_hz;
  char input[SR_DEVICE_NAME_SIZE];
  char trouble[SR_ERROR_FILE_SIZE + SR_ERROR_MESSAGE_SIZE]; ///< "" for none
  SrSittingWait wait;
  SrPlayingKind played_kind; ///< What is played to the player
  double held_s;             ///< Of the low note
  SrSignalMeaning held_meaning;
  bool rest_listens;      ///< The session is that of sr_sitting_rest(); it is no one else's
  bool rest_tried;        ///< There was one since the last that was no such
  double rest_notes_s[2]; ///< When the last notes were heard in it; NAN for none
  double at_s;            ///< Time of the last event, and when it came
  gint64 at_us;
};

// one_sitting.c

void sr_sitting_enter(SrSitting* sitting, SrSittingPhase phase);
/// Say a sentence to the player.
void sr_sitting_say(SrSitting* sitting, const char* words);

/// Open a session; `chosen` is NULL for one without a phrase.
void sr_sitting_open(SrSitting* sitting, SrChosen* chosen, const SrSessionSettings* settings);

// sitting_rest.c

/// Keep what an event of a rest reports. False at the last one.
bool sr_sitting_take_rest_event(SrSitting* sitting, const SrSessionEvent* event);

// sitting_events.c

/// Forget the round that goes on.
void sr_sitting_forget_notes(SrSitting* sitting);
/// Keep the first trouble of a session, and say it.
void sr_sitting_take_trouble(SrSitting* sitting, const SrError* error);
/// Keep what an event reports. False at the last one.
bool sr_sitting_take_event(SrSitting* sitting, SrSessionEvent* event);

G_END_DECLS

#endif // SR_WINDOW_SITTING_STATE_H
