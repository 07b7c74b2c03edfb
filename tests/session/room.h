// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file room.h
   A session on a sound server of its own, and what is played to it.
*/

#ifndef SR_TESTS_SESSION_ROOM_H
#define SR_TESTS_SESSION_ROOM_H

#include "sound_server.h"

#include <steadyreed/session.h>

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

/// Of the server.
#define ROOM_RATE_HZ 44100.0
/// Most that one event may take, s.
#define ROOM_MOST_S 30.0

typedef struct {
  SoundServer server;
  SrPhrase* phrase;
  SrSession* session;
  size_t counts[SR_SESSION_PITCH + 1]; ///< Events taken so far, by their kind
  double last_s;                       ///< When the last event happened
} Room;

/// One note, or a rest, played to the session.
typedef struct {
  double hz; ///< 0 for a rest
  double length_s;
} RoomNote;

/// Start the server, and read the phrase; a setup function's result.
int room_begin(Room* room, const char* abc);
/// The same for a teardown.
int room_end(Room* room);
/// Open a session and start it; NULL listens freely.
void room_open(Room* room, const SrPhrase* phrase, const SrSessionSettings* settings);
/// Take events until one of this kind, or until the session's clock is at `until_s`; whether the
/// event came, as `event`, which is cleared.
bool room_take_until(Room* room, SrSessionEventKind kind, double until_s, SrSessionEvent* event);
/// Wait for an event of this kind; it is cleared.
SrSessionEvent room_wait_for(Room* room, SrSessionEventKind kind);
/// Let the session go on for a while; whether an event of this kind came.
bool room_comes_within(Room* room, SrSessionEventKind kind, double seconds);
void room_send(const Room* room, SrCommandKind kind, double value);
/// Play notes as reeds do to the sink; to be waited for.
pid_t room_play(Room* room, const RoomNote* notes, size_t count);
void room_wait_played(pid_t player);

#endif // SR_TESTS_SESSION_ROOM_H
