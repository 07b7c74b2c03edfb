// SPDX-License-Identifier: GPL-3.0-or-later

#include "assigned.h"
#include "chosen_phrase.h"
#include "command.h"
#include "device_names.h"
#include "free_view.h"
#include "ladder_climb.h"
#include "practise_options.h"
#include "say.h"
#include "session_view.h"
#include "window/window_app.h"

#include <steadyreed/planned_places.h>

#include <math.h>
#include <stdlib.h>

static const char name[] = "practise";

/// A window waits for longer, s: what it shows does not scroll away, and it has a button to rest.
#define WINDOW_SILENCE_S 600.0

/// Open the window if there is one, unless lines are asked for. False if there is none.
static bool
open_window(SrPractiseRequest* const request, int* const status)
{
  if (request->plain || isfinite(request->ladder_from_bpm) || request->json || request->all_notes ||
      request->list_devices || !sr_window_can_open()) {
    return false;
  }
  sr_plan_options_recall(&request->plan);
  if (!request->until_silence) {
    request->session.silence_s = WINDOW_SILENCE_S;
  }
  const SrWindowStart start = {.path = request->phrase_path,
                               .choice = &request->choice,
                               .layout = request->plan.wish.layout,
                               .style = request->plan.wish.style,
                               .settings = &request->session,
                               .speak = request->speak,
                               .ladder = request->named.ladder == SR_ASSIGNED_LADDER_YES};
  *status = sr_window_run(&start);
  return true;
}

static SrPractiseShow
show_of(const SrPractiseRequest* const request)
{
  return (SrPractiseShow){
      .json = request->json, .all_notes = request->all_notes, .speak = request->speak};
}

/// Climb a tempo ladder. Returns an exit status.
static int
climb(SrPractiseRequest* const request)
{
  if (request->plan.pins) {
    return sr_say_usage(name,
                        "--pin does nothing in a tempo ladder, whose bars change; --no-ladder "
                        "leaves them as they are.");
  }
  sr_plan_options_recall(&request->plan);
  const SrLadderClimb ladder = {.command = name,
                                .path = request->phrase_path,
                                .choice = &request->choice,
                                .plan = &request->plan,
                                .settings = &request->session,
                                .from_bpm = request->ladder_from_bpm};
  const SrPractiseShow how = show_of(request);
  SrSeries series = {.most_s = (double)INFINITY};
  const int status = sr_ladder_climb(&ladder, &how, &series);
  if (!status && series.rounds == 0) {
    sr_say_line("steadyreed: No round was heard.");
    return series.ended == SR_SERIES_QUIT || series.ended == SR_SERIES_SIGNAL ? SR_EXIT_DONE
                                                                              : SR_EXIT_NOT_JUDGED;
  }
  if (!status && !request->json) {
    sr_say_format(stdout, "%zu round%s, %zu of them without a fault.\n", series.rounds,
                  series.rounds == 1 ? "" : "s", series.clean);
  }
  return status;
}

/// Plan the phrase if that is wanted, and practise it. Returns an exit status.
static int
practise_phrase(SrPractiseRequest* const request, SrPhrase* const phrase)
{
  char** places = NULL;
  sr_plan_options_recall(&request->plan);
  int status = sr_plan_options_places(&request->plan, name, true, request->session.judge.target_bpm,
                                      phrase, &places);
  if (!status) {
    const SrPractice origin = {.file = request->phrase_path,
                               .choice = request->choice,
                               .layout = places ? request->plan.wish.layout : NULL,
                               .style = places ? request->plan.wish.style : NULL};
    request->session.judge.places = (const char* const*)places;
    const SrPractiseShow how = show_of(request);
    status = sr_practise(phrase, &request->session, &origin, &how, NULL);
  }
  sr_plan_places_del(phrase, places);
  return status;
}

/// Do as the phrase's file asks, where nothing else was named. Returns what it asks for.
static SrAssignment
use_file(SrPractiseRequest* const request)
{
  SrAssignment assignment = {.first_bar = 0};
  if (request->phrase_path && !request->list_devices) {
    assignment = sr_assigned_read(request->phrase_path, &request->named, &request->choice);
    sr_assigned_use(&assignment, &request->named, &request->session);
    if (!request->named.ladder) {
      request->named.ladder = assignment.ladder;
    }
  }
  return assignment;
}

int
sr_command_practise(const int count, char** arguments)
{
  SrPractiseRequest request;
  int status = sr_practise_options_read(count, arguments, &request);
  SrPhrase* phrase = NULL;
  const SrAssignment assignment = status ? (SrAssignment){.part = '\0'} : use_file(&request);
  if (status) {
    status = status < 0 ? sr_say_flush(stdout, "standard output") : status;
  } else if (request.write_drill) {
    status = sr_assigned_write(request.phrase_path, &request.choice, &request.session,
                               &request.named, request.write_drill, request.force);
  } else if (open_window(&request, &status)) {
    // Until it was closed
  } else if (request.list_devices) {
    status = sr_list_devices();
  } else if (!request.phrase_path) {
    status = sr_listen_freely(&request.session);
  } else if (sr_practise_has_ladder(&request)) {
    sr_assigned_say(&assignment);
    status = climb(&request);
    const int written = sr_say_flush(stdout, "standard output");
    status = status ? status : written;
  } else if (!(phrase = sr_chosen_phrase_read(request.phrase_path, &request.choice))) {
    status = SR_EXIT_NOT_JUDGED;
  } else {
    sr_assigned_say(&assignment);
    status = practise_phrase(&request, phrase);
    const int written = sr_say_flush(stdout, "standard output");
    status = status ? status : written;
  }
  sr_phrase_del(phrase);
  sr_plan_options_clear(&request.plan);
  return status;
}
