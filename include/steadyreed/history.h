// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file history.h
   The history of practice: every judged round, in an SQLite database of the player's own. Nothing
   of it leaves the machine.

   The database is $XDG_DATA_HOME/steadyreed/history.sqlite (or ~/.local/share), readable by its
   owner only. It has a write-ahead log, and each round is one transaction that is on the disk when
   sr_history_add_round() returns. Several programs may use it at once; each waits up to five
   seconds for another.

   A phrase is known by its notes, not by its file: see sr_phrase_identity(). Days are the player's
   own, by the clock on the wall when the round ended.

   Functions of one history must not run at the same time. NAN means "not known" in every double.
*/

#ifndef STEADYREED_HISTORY_H
#define STEADYREED_HISTORY_H

#include <steadyreed/declarations.h>
#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// Version of the database's tables that this library writes; PRAGMA user_version.
#define SR_HISTORY_VERSION 3

typedef struct SrHistoryImpl SrHistory;

/// What it is opened for.
typedef enum {
  SR_HISTORY_LOOK,   ///< Only if there is one; a damaged one is left alone
  SR_HISTORY_RECORD, ///< Create it if there is none, and set aside one that cannot be used
} SrHistoryUse;

/**
   Open the history; an older version is brought up to date first.

   With SR_HISTORY_RECORD a file that is damaged, is no history or may not be written is renamed to
   history.sqlite.damaged-1 (or -2 ...), with its log, and a new history begins:
   sr_history_remark() says so. One written by a newer version is never touched.

   @param path    File; NULL for the usual place, whose folder is made if it is to be recorded in.
   @param history Receives it; NULL on error.
   @return SR_OK; SR_NOT_FOUND (there is none, or no home); SR_NO_PERMISSION; SR_BAD_SYNTAX
   (damaged, to look at only); SR_UNSUPPORTED (a newer version); SR_WRITE_FAILED (full disk, or in
   use by another program for too long); SR_NO_MEMORY.
*/
SrStatus sr_history_open(const char* path, SrHistoryUse use, SrHistory** history, SrError* error);
/// What became of a file that could not be used, since the last call: a sentence that is valid
/// until the next call with this history; NULL if there is nothing to say.
const char* sr_history_remark(SrHistory* history);
/// Its file, valid until it is closed.
const char* sr_history_path(const SrHistory* history);
/// Close it; NULL does nothing.
void sr_history_close(SrHistory* history);

/// Size of an identity, bytes with its NUL.
#define SR_IDENTITY_SIZE 33

/**
   The identity of a phrase: the first 32 hexadecimal digits of the SHA-256 (FIPS 180-4) of its
   notes written out as text. It stays the same when the file, the title or the tune's number
   changes, and when a plan asks for air; it changes with any note, length, ornament, pulse, or
   transposition.

   The text is "1\n", then for each bar as played "| START PULSE\n", then for each note "START
   LENGTH MIDI ORNAMENT CUT\n": fractions as "3/8", SrOrnament as a number, the cut's MIDI number or
   -1.

   @param identity Receives it; "" without memory.
*/
void sr_phrase_identity(const SrPhrase* phrase, char identity[SR_IDENTITY_SIZE]);

/// A moment, and where the clock on the wall stood.
typedef struct {
  int64_t utc_ms; ///< Since 1970-01-01 UTC
  int offset_s;   ///< Local time minus UTC, -86400 to 86400
} SrMoment;

/// Now.
SrMoment sr_moment_now(void);
/// Local day of a moment, counted from 1970-01-01, which is 0.
int sr_moment_day(SrMoment moment);

/// The click that was played to.
typedef enum { SR_CLICK_NONE, SR_CLICK_PULSES, SR_CLICK_BARS } SrPlayedClick;

/// How a round was practised. All zero but `asked_bpm` is silent, of a whole tune from no file.
typedef struct {
  const char* file;      ///< The phrase's file, as the player named it; NULL for none
  SrPhraseChoice choice; ///< What was selected from it
  double asked_bpm;      ///< Pulses a minute asked for; NAN if the tempo was free
  SrPlayedClick click;
  unsigned on_bars;   ///< Bars with the click,
  unsigned off_bars;  ///< then bars without; 0 if no bar was silent
  const char* layout; ///< Instrument layout planned for; NULL without a plan
  const char* style;  ///< Style planned for; NULL without a plan
  const char* take;   ///< Path of the take being recorded; NULL if none is
} SrPractice;

/// Sums of one round, for progress.
typedef struct {
  unsigned notes;       ///< Asked for
  unsigned notes_right; ///< Of these, played as written
  unsigned cuts;        ///< Asked for
  unsigned cuts_clean;
  unsigned air;       ///< Places where air was asked for and could be heard
  unsigned air_heard; ///< Of these, with air that was audible
  double spread_ms;   ///< See SrPulse
  double offset_ms;   ///< Mean ahead (negative) or behind; NAN if it is not known
  unsigned alone;     ///< Silent stretches judged
  double alone_ms;    ///< How far from the click the player moved in them: mean absolute change of
                      ///< the offset; NAN without any
  double seconds;     ///< From the round's first sound to its last
} SrRoundFigures;

/// The figures of a round as judged.
SrRoundFigures sr_round_figures(const SrRound* round);

/// What happened in one bar, as numbered in the music; all its playings in a round together.
typedef struct {
  int bar;
  unsigned rounds;      ///< Rounds counted
  unsigned notes;       ///< Asked for
  unsigned wrong;       ///< Missed, or another pitch
  unsigned joined;      ///< Ran into the note before, where no cut is asked
  unsigned cuts;        ///< Asked for
  unsigned cuts_faulty; ///< Not clean
  unsigned inserted;    ///< Notes too many
  unsigned slips;       ///< Waits, returns and other breaks of the flow
  unsigned air_heard;   ///< Audible air
  unsigned faults;      ///< Sum of the faults above
} SrBarFigures;

/**
   Keep a judged round. A take named in `practice` counts as in our takes folder if it lies there.

   A damaged history is set aside at this point too, and the round goes into a new one.

   @param phrase     What was played.
   @param assessment With the round, as reported by a session.
   @param round      Its index, less than `round_count`.
   @param practice   How it was practised.
   @param json       The assessment as by sr_show_take_json(); NULL to keep none.
   @param moment     When the round ended; NULL for now.
   @return SR_OK: the round is on the disk. SR_WRITE_FAILED (full disk, or in use for too long),
           SR_NO_PERMISSION or SR_NO_MEMORY: the round is not kept, and later ones may be.
*/
SrStatus sr_history_add_round(SrHistory* history, const SrPhrase* phrase,
                              const SrAssessment* assessment, size_t round,
                              const SrPractice* practice, const char* json, const SrMoment* moment,
                              SrError* error);

/// A round that was begun and not finished.
typedef struct {
  unsigned notes; ///< Of the phrase that were reached, at least 1
  double seconds; ///< From its first sound to its last
} SrUnfinishedRound;

/**
   Keep a round that the end of practice broke off. It only tells that it was played, and which take
   holds it (see kept_takes.h): it is no round of sr_history_rounds(), counts in no figure, trend or
   day, and is not exported.

   @param practice As for sr_history_add_round(), like the rest.
   @return As sr_history_add_round().
*/
SrStatus sr_history_add_unfinished(SrHistory* history, const SrPhrase* phrase,
                                   const SrUnfinishedRound* round, const SrPractice* practice,
                                   const SrMoment* moment, SrError* error);

/// A phrase that was practised. Free a list with sr_history_phrases_del().
typedef struct {
  int64_t id; ///< For the other functions, in this history only
  char identity[SR_IDENTITY_SIZE];
  char* title; ///< "" without one; of the last time, like the rest
  char* file;  ///< Absolute path where it could be told, NULL for none
  int tune;    ///< X: number
  int first_bar;
  int last_bar;
  bool chosen_bars; ///< These bars were selected; otherwise they are those of the part or tune
  char part;        ///< 'A' to 'Z', 0 for all
  int transposed;   ///< Semitones up
  unsigned notes;
  SrMoment last; ///< When it was last played
} SrHistoryPhrase;

/// All phrases, the last played first. Free with sr_history_phrases_del().
SrStatus sr_history_phrases(SrHistory* history, SrHistoryPhrase** phrases, size_t* count,
                            SrError* error);
/// All phrases of which a take was recorded, also those with rounds that were broken off only, the
/// last played first.
SrStatus sr_history_phrases_with_takes(SrHistory* history, SrHistoryPhrase** phrases, size_t* count,
                                       SrError* error);
void sr_history_phrases_del(SrHistoryPhrase* phrases, size_t count);

/// One phrase on one day.
typedef struct {
  int day; ///< As by sr_moment_day()
  unsigned rounds;
  unsigned clean_rounds; ///< Without a fault: SrRound.clean
  double clean_bpm;      ///< Mean tempo of these, pulses a minute; NAN without any
  double best_clean_bpm; ///< Fastest of them
  unsigned notes;
  unsigned notes_right;
  unsigned cuts;
  unsigned cuts_clean;
  unsigned air;
  unsigned air_heard;
  double spread_ms;     ///< Mean over rounds
  double offset_ms;     ///< Mean over rounds
  double abs_offset_ms; ///< Mean of its absolute value over rounds
  double alone_ms;      ///< Mean over silent stretches
  double seconds;       ///< Played
} SrPracticeDay;

/**
   The days on which a phrase was played, in order, from one table that holds a row a day.

   @param first_day First day wanted; INT_MIN for all.
   @param days      Receives them; free() them. NULL without any.
*/
SrStatus sr_history_days(SrHistory* history, int64_t phrase, int first_day, SrPracticeDay** days,
                         size_t* count, SrError* error);

/// The days on which anything was played, in order, all phrases together: of each only its day, its
/// rounds and its seconds, and the other numbers are 0 or NAN. Arguments as for sr_history_days().
SrStatus sr_history_every_day(SrHistory* history, int first_day, SrPracticeDay** days,
                              size_t* count, SrError* error);

/// A round that was kept. Free a list with sr_history_rounds_del().
typedef struct {
  int64_t id;
  SrMoment moment;
  double asked_bpm;
  double played_bpm;
  SrPlayedClick click;
  unsigned on_bars;
  unsigned off_bars;
  SrScores scores;
  bool clean;
  SrRoundFigures figures;
  char* take; ///< File name in the takes folder; NULL without one
} SrHistoryRound;

/// The rounds of a phrase on the days from `first_day` to `last_day`, in order.
SrStatus sr_history_rounds(SrHistory* history, int64_t phrase, int first_day, int last_day,
                           SrHistoryRound** rounds, size_t* count, SrError* error);
void sr_history_rounds_del(SrHistoryRound* rounds, size_t count);

/// The assessment of a round as JSON; free() it. SR_NOT_FOUND if none was kept.
SrStatus sr_history_assessment(SrHistory* history, int64_t round, char** json, SrError* error);

/**
   The bars of a phrase with what happened in them in its last rounds, the most faults a round
   first.

   @param rounds How many of the last rounds count, at least 1.
   @param bars   Receives all bars of these rounds; free() them. NULL without any.
*/
SrStatus sr_history_worst_bars(SrHistory* history, int64_t phrase, unsigned rounds,
                               SrBarFigures** bars, size_t* count, SrError* error);

/// The same of the last rounds before a day.
SrStatus sr_history_worst_bars_before(SrHistory* history, int64_t phrase, int day, unsigned rounds,
                                      SrBarFigures** bars, size_t* count, SrError* error);

/// Tempo of the last round of a phrase without a fault, pulses a minute; NAN if there was none.
SrStatus sr_history_last_clean_bpm(SrHistory* history, int64_t phrase, double* bpm, SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_HISTORY_H
