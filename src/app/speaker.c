// SPDX-License-Identifier: GPL-3.0-or-later

#include "speaker.h"

#include <libspeechd.h>

#include <ctype.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/// Most bytes of words, with their NUL.
#define WORDS_SIZE 256u
/// How long the thread may take to end, s.
#define END_S 0.5

struct SrSpeakerImpl {
  pthread_mutex_t lock;
  pthread_cond_t change;
  pthread_t thread;
  char words[WORDS_SIZE]; ///< To be sent next; "" for none
  bool cancel;            ///< What was sent is to be cancelled
  bool ends;              ///< The thread is to end
  bool waits;             ///< Words were given and neither spoken nor cancelled
  size_t message;         ///< Number of the words sent last; 0 if they are not sent
  size_t begun;           ///< Largest number of a message that has begun
  size_t ended;           ///< … and of one that is over
  double given_s;         ///< When the words were given
};

// Global, because the callbacks of the library take no argument of ours.
static SrSpeaker* notified;
static pthread_mutex_t notified_lock = PTHREAD_MUTEX_INITIALIZER;

static double
now_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

bool
sr_speaker_is_built(void)
{
  return true;
}

/// A message has begun, is over or was cancelled; called on a thread of the library.
static void
notice(const size_t message, const size_t client, const SPDNotificationType kind)
{
  (void)client;
  pthread_mutex_lock(&notified_lock);
  SrSpeaker* const s = notified;
  if (s) {
    pthread_mutex_lock(&s->lock);
    size_t* const last = kind == SPD_EVENT_BEGIN ? &s->begun : &s->ended;
    *last = message > *last ? message : *last;
    pthread_mutex_unlock(&s->lock);
  }
  pthread_mutex_unlock(&notified_lock);
}

/// Connect, starting the server if it does not run; NULL if that fails.
static SPDConnection*
connect_to_server(void)
{
  char* error = NULL;
  SPDConnectionAddress* const address = spd_get_default_address(&error);
  SPDConnection* const connection =
      address ? spd_open2("steadyreed", "verdicts", NULL, SPD_MODE_THREADED, address, 1, &error)
              : NULL;
  if (address) {
    SPDConnectionAddress__free(address);
  }
  free(error);
  if (connection) {
    connection->callback_begin = notice;
    connection->callback_end = notice;
    connection->callback_cancel = notice;
    spd_set_notification_on(connection, SPD_BEGIN);
    spd_set_notification_on(connection, SPD_END);
    spd_set_notification_on(connection, SPD_CANCEL);
    spd_set_language(connection, "en");
    spd_set_data_mode(connection, SPD_DATA_SSML);
  }
  return connection;
}

/// Words as SSML, in which the note A is not taken for the article.
static void
write_ssml(const char* const words, char* const text, const size_t size)
{
  size_t length = (size_t)snprintf(text, size, "<speak>");
  for (size_t i = 0; words[i]; ++i) {
    const bool alone = words[i] == 'A' && (i == 0 || !isalnum((unsigned char)words[i - 1])) &&
                       !isalnum((unsigned char)words[i + 1]);
    const int added = alone ? snprintf(text + length, size - length,
                                       "<say-as interpret-as=\"characters\">A</say-as>")
                            : snprintf(text + length, size - length, "%c", words[i]);
    length += (size_t)added;
  }
  snprintf(text + length, size - length, "</speak>");
}

/// Send words; called without the lock. The number of the message; 0 if the server is gone.
static size_t
send_words(SPDConnection** const connection, const char* const words)
{
  char text[WORDS_SIZE * 48];
  write_ssml(words, text, sizeof(text));
  *connection = *connection ? *connection : connect_to_server();
  int message = *connection ? spd_say(*connection, SPD_MESSAGE, text) : -1;
  if (*connection && message <= 0) {
    // The server was ended: a new one may be there, or be started
    spd_close(*connection);
    *connection = connect_to_server();
    message = *connection ? spd_say(*connection, SPD_MESSAGE, text) : -1;
  }
  return message > 0 ? (size_t)message : 0;
}

static void*
run(void* const argument)
{
  SrSpeaker* const s = (SrSpeaker*)argument;
  SPDConnection* connection = connect_to_server();
  pthread_mutex_lock(&s->lock);
  while (!s->ends) {
    if (s->cancel) {
      s->cancel = false;
      pthread_mutex_unlock(&s->lock);
      if (connection) {
        spd_cancel(connection);
      }
      pthread_mutex_lock(&s->lock);
    } else if (s->words[0]) {
      char words[WORDS_SIZE];
      memcpy(words, s->words, sizeof(words));
      s->words[0] = '\0';
      s->begun = 0;
      s->ended = 0;
      pthread_mutex_unlock(&s->lock);
      const size_t message = send_words(&connection, words);
      pthread_mutex_lock(&s->lock);
      // Words that were stopped meanwhile are cancelled next
      s->message = message;
    } else {
      pthread_cond_wait(&s->change, &s->lock);
    }
  }
  const bool speaks = s->message > s->ended;
  pthread_mutex_unlock(&s->lock);
  if (connection && speaks) {
    spd_cancel(connection);
  }
  if (connection) {
    spd_close(connection);
  }
  return NULL;
}

SrSpeaker*
sr_speaker_new(void)
{
  SrSpeaker* const s = (SrSpeaker*)calloc(1, sizeof(SrSpeaker));
  if (!s) {
    return NULL;
  }
  pthread_mutex_init(&s->lock, NULL);
  pthread_cond_init(&s->change, NULL);
  pthread_mutex_lock(&notified_lock);
  notified = s;
  pthread_mutex_unlock(&notified_lock);
  // Signals belong to the main thread; a server that is gone must not end the program (SIGPIPE)
  sigset_t all;
  sigset_t before;
  sigfillset(&all);
  pthread_sigmask(SIG_SETMASK, &all, &before);
  const bool runs = pthread_create(&s->thread, NULL, run, s) == 0;
  pthread_sigmask(SIG_SETMASK, &before, NULL);
  if (!runs) {
    pthread_mutex_lock(&notified_lock);
    notified = NULL;
    pthread_mutex_unlock(&notified_lock);
    free(s);
    return NULL;
  }
  return s;
}

void
sr_speaker_del(SrSpeaker* const s)
{
  if (!s) {
    return;
  }
  pthread_mutex_lock(&s->lock);
  s->ends = true;
  pthread_cond_signal(&s->change);
  pthread_mutex_unlock(&s->lock);
  struct timespec limit;
  clock_gettime(CLOCK_REALTIME, &limit);
  limit.tv_nsec += (long)(1e9 * END_S);
  limit.tv_sec += limit.tv_nsec / 1000000000L;
  limit.tv_nsec %= 1000000000L;
  if (pthread_timedjoin_np(s->thread, NULL, &limit) != 0) {
    // It waits for the server and may go on using all this
    pthread_detach(s->thread);
    return;
  }
  pthread_mutex_lock(&notified_lock);
  notified = NULL;
  pthread_mutex_unlock(&notified_lock);
  pthread_cond_destroy(&s->change);
  pthread_mutex_destroy(&s->lock);
  free(s);
}

void
sr_speaker_say(SrSpeaker* const s, const char* const words)
{
  pthread_mutex_lock(&s->lock);
  snprintf(s->words, sizeof(s->words), "%s", words);
  s->waits = s->words[0] != '\0';
  s->message = 0;
  s->given_s = now_s();
  pthread_cond_signal(&s->change);
  pthread_mutex_unlock(&s->lock);
}

void
sr_speaker_stop(SrSpeaker* const s)
{
  pthread_mutex_lock(&s->lock);
  s->words[0] = '\0';
  s->cancel = s->cancel || s->waits;
  s->waits = false;
  pthread_cond_signal(&s->change);
  pthread_mutex_unlock(&s->lock);
}

SrSpeakerState
sr_speaker_state(SrSpeaker* const s)
{
  pthread_mutex_lock(&s->lock);
  if (s->message > 0 && s->ended >= s->message) {
    s->waits = false;
  }
  const SrSpeakerState state = !s->waits                                  ? SR_SPEAKER_SILENT
                               : s->message > 0 && s->begun >= s->message ? SR_SPEAKER_SPEAKS
                                                                          : SR_SPEAKER_WAITING;
  pthread_mutex_unlock(&s->lock);
  return state;
}

double
sr_speaker_waited_s(SrSpeaker* const s)
{
  if (sr_speaker_state(s) != SR_SPEAKER_WAITING) {
    return 0.0;
  }
  pthread_mutex_lock(&s->lock);
  const double waited_s = now_s() - s->given_s;
  pthread_mutex_unlock(&s->lock);
  return waited_s;
}
