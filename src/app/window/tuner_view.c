// SPDX-License-Identifier: GPL-3.0-or-later

#include "tuner_view.h"

#include "input_meter.h"
#include "one_sitting.h"
#include "size_as_parent.h"
#include "tuner_dial.h"

#include <math.h>

/// Without a pitch for this long, s, nothing is shown.
#define STAYS_S 0.6
/// The words change at most this often, us, so that a screen reader can follow.
#define WORDS_EVERY_US G_USEC_PER_SEC
/// Without a profile.
#define USUAL_HZ 440.0
/// The window's size without a parent's.
#define WIDTH 800
#define HEIGHT 640

struct _SrTunerView {
  AdwWindow parent_instance;
  SrTunerDial* dial;
  GtkLabel* status;
  GtkButton* again;
  SrInputMeter* meter;
  GtkSpinButton* reference;
  GtkButton* usual;

  SrSitting* sitting;
  SrStreamSettings stream;
  char* input;
  double usual_hz; ///< Of the profile
  SrTunerReading reading;
  double pitch_s; ///< Time of the last pitch
  gint64 words_us;
  guint words_later; ///< They change at the end of their second
  gboolean closing;
};

G_DEFINE_FINAL_TYPE(SrTunerView, sr_tuner_view, ADW_TYPE_WINDOW)

static void
say(SrTunerView* const view, const char* const words)
{
  if (g_strcmp0(gtk_label_get_label(view->status), words) != 0) {
    gtk_label_set_label(view->status, words);
    view->words_us = g_get_monotonic_time();
  }
}

static gboolean
say_reading(void* const data)
{
  SrTunerView* const view = SR_TUNER_VIEW(data);
  char* const words = sr_tuner_words(&view->reading);
  view->words_later = 0;
  say(view, words);
  g_free(words);
  return G_SOURCE_REMOVE;
}

/// Show the reading at once, and say it when the words have stood for long enough.
static void
show(SrTunerView* const view, const SrTunerReading* const reading)
{
  view->reading = *reading;
  sr_tuner_dial_show(view->dial, reading);
  const gint64 left_us = view->words_us + WORDS_EVERY_US - g_get_monotonic_time();
  if (!view->words_later && left_us > 0) {
    view->words_later = g_timeout_add((guint)(left_us / 1000 + 1), say_reading, view);
  } else if (!view->words_later) {
    (void)say_reading(view);
  }
}

static void
show_pitch(SrTunerView* const view, const double hz)
{
  const SrTunerReading reading = sr_tuner_read(hz, gtk_spin_button_get_value(view->reference));
  show(view, &reading);
}

static void
take_event(SrSitting* const sitting, const SrSessionEvent* const event, SrTunerView* const view)
{
  (void)sitting;
  if (event->kind == SR_SESSION_READY) {
    sr_input_meter_reset(view->meter);
  } else if (event->kind == SR_SESSION_PITCH) {
    view->pitch_s = event->at_s;
    show_pitch(view, event->pitch.frequency_hz);
  } else if (event->kind == SR_SESSION_LEVEL) {
    sr_input_meter_take(view->meter, event->level.peak, event->level.overdriven, FALSE,
                        event->at_s);
    if (view->reading.midi >= 0 && event->at_s - view->pitch_s > STAYS_S) {
      show_pitch(view, 0.0);
    }
  }
}

static void
take_change(SrSitting* const sitting, SrTunerView* const view)
{
  const gboolean rests = sr_sitting_phase(sitting) == SR_SITTING_RESTING;
  gtk_widget_set_visible(GTK_WIDGET(view->again), rests && !view->closing);
  if (rests && view->closing) {
    gtk_window_destroy(GTK_WINDOW(view));
  }
}

static void
take_trouble(SrSitting* const sitting, const char* const words, SrTunerView* const view)
{
  (void)sitting;
  const SrTunerReading silence = {.midi = -1};
  view->reading = silence;
  sr_tuner_dial_show(view->dial, &silence);
  g_clear_handle_id(&view->words_later, g_source_remove);
  say(view, words);
}

static void
listen(SrTunerView* const view)
{
  SrSessionSettings settings = sr_session_settings_default();
  settings.stream = view->stream;
  settings.pitch = true;
  // It listens for as long as it is open
  settings.silence_s = (double)INFINITY;
  settings.first_wait_s = (double)INFINITY;
  say(view, "Hold a note");
  sr_sitting_begin(view->sitting, NULL, &settings);
}

static void
change_reference(SrTunerView* const view)
{
  const double hz = gtk_spin_button_get_value(view->reference);
  gtk_widget_set_sensitive(GTK_WIDGET(view->usual), fabs(hz - view->usual_hz) >= 0.05);
  if (view->reading.midi >= 0) {
    show_pitch(view, view->reading.hz);
  }
}

static void
use_usual(SrTunerView* const view)
{
  gtk_spin_button_set_value(view->reference, view->usual_hz);
}

static gboolean
close_view(GtkWindow* const window)
{
  SrTunerView* const view = SR_TUNER_VIEW(window);
  if (sr_sitting_phase(view->sitting) != SR_SITTING_RESTING) {
    view->closing = TRUE;
    sr_sitting_end(view->sitting);
    return TRUE;
  }
  return GTK_WINDOW_CLASS(sr_tuner_view_parent_class)->close_request(window);
}

static void
view_dispose(GObject* const object)
{
  SrTunerView* const view = SR_TUNER_VIEW(object);
  g_clear_handle_id(&view->words_later, g_source_remove);
  if (view->sitting) {
    g_signal_handlers_disconnect_by_data(view->sitting, view);
    sr_sitting_close(view->sitting);
  }
  g_clear_object(&view->sitting);
  g_clear_pointer(&view->input, g_free);
  G_OBJECT_CLASS(sr_tuner_view_parent_class)->dispose(object);
}

static void
sr_tuner_view_class_init(SrTunerViewClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = view_dispose;
  GTK_WINDOW_CLASS(class)->close_request = close_view;
  g_type_ensure(SR_TYPE_TUNER_DIAL);
  g_type_ensure(SR_TYPE_INPUT_METER);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/tuner_view.ui");
  gtk_widget_class_bind_template_child(widget, SrTunerView, dial);
  gtk_widget_class_bind_template_child(widget, SrTunerView, status);
  gtk_widget_class_bind_template_child(widget, SrTunerView, again);
  gtk_widget_class_bind_template_child(widget, SrTunerView, meter);
  gtk_widget_class_bind_template_child(widget, SrTunerView, reference);
  gtk_widget_class_bind_template_child(widget, SrTunerView, usual);
  gtk_widget_class_bind_template_callback(widget, listen);
  gtk_widget_class_bind_template_callback(widget, change_reference);
  gtk_widget_class_bind_template_callback(widget, use_usual);
  gtk_widget_class_add_binding_action(widget, GDK_KEY_Escape, 0, "window.close", NULL);
}

static void
sr_tuner_view_init(SrTunerView* const view)
{
  view->reading.midi = -1;
  view->usual_hz = USUAL_HZ;
  gtk_widget_init_template(GTK_WIDGET(view));
  gtk_widget_add_css_class(GTK_WIDGET(view), "practise");
  gtk_spin_button_set_range(view->reference, SR_TUNER_LEAST_HZ, SR_TUNER_MOST_HZ);
  view->sitting = sr_sitting_new();
  g_signal_connect(view->sitting, "heard", G_CALLBACK(take_event), view);
  g_signal_connect(view->sitting, "changed", G_CALLBACK(take_change), view);
  g_signal_connect(view->sitting, "said", G_CALLBACK(take_trouble), view);
}

/// A4 of the instrument that setup has learnt.
static double
profile_hz(void)
{
  SrSetup setup;
  const bool known = sr_setup_read(&setup, NULL) == SR_OK && setup.profile;
  const double hz = known ? sr_profile_reference_hz(setup.profile) : USUAL_HZ;
  sr_setup_clear(&setup);
  return CLAMP(hz, SR_TUNER_LEAST_HZ, SR_TUNER_MOST_HZ);
}

GtkWidget*
sr_tuner_view_new(GtkWindow* const parent, const SrStreamSettings* const stream)
{
  SrTunerView* const view =
      SR_TUNER_VIEW(g_object_new(SR_TYPE_TUNER_VIEW, "transient-for", parent, "modal", TRUE, NULL));
  char words[32];
  view->usual_hz = profile_hz();
  g_snprintf(words, sizeof(words), "Back to %.1f Hz", view->usual_hz);
  gtk_widget_set_tooltip_text(GTK_WIDGET(view->usual), words);
  gtk_accessible_update_property(GTK_ACCESSIBLE(view->usual), GTK_ACCESSIBLE_PROPERTY_LABEL, words,
                                 -1);
  gtk_spin_button_set_value(view->reference, view->usual_hz);
  gtk_widget_set_sensitive(GTK_WIDGET(view->usual), FALSE);
  view->input = g_strdup(stream->input);
  view->stream = *stream;
  view->stream.input = view->input;
  view->stream.output = NULL;
  sr_size_as_parent(GTK_WINDOW(view), parent, WIDTH, HEIGHT);
  // Nothing to type at first: keys are for the window
  gtk_window_set_focus(GTK_WINDOW(view), GTK_WIDGET(view->dial));
  listen(view);
  return GTK_WIDGET(view);
}
