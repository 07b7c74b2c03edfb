// SPDX-License-Identifier: GPL-3.0-or-later

#include "window_keys.h"

#include "../keys.h"

static SrKey
key_of(const guint value)
{
  switch (value) {
  case GDK_KEY_space:
    return SR_KEY_SPACE;
  case GDK_KEY_Page_Down:
  case GDK_KEY_KP_Page_Down:
    return SR_KEY_PAGE_DOWN;
  case GDK_KEY_Page_Up:
  case GDK_KEY_KP_Page_Up:
    return SR_KEY_PAGE_UP;
  case GDK_KEY_Right:
    return SR_KEY_RIGHT;
  case GDK_KEY_Left:
    return SR_KEY_LEFT;
  case GDK_KEY_Up:
    return SR_KEY_UP;
  case GDK_KEY_Down:
    return SR_KEY_DOWN;
  case GDK_KEY_q:
    return SR_KEY_Q;
  case GDK_KEY_Escape:
    return SR_KEY_ESCAPE;
  case GDK_KEY_n:
    return SR_KEY_N;
  case GDK_KEY_Return:
    return SR_KEY_RETURN;
  default:
    return SR_KEY_NONE;
  }
}

/// The action for a job; NULL for none.
static const char*
action_for(const SrJob job)
{
  switch (job) {
  case SR_JOB_BEGIN:
    return "win.go-on";
  case SR_JOB_HEAR:
    return "win.hear";
  case SR_JOB_FASTER:
    return "win.faster";
  case SR_JOB_SLOWER:
    return "win.slower";
  case SR_JOB_END:
    return "win.rest";
  case SR_JOB_NEXT:
    return "win.next-item";
  case SR_JOB_NONE:
    break;
  }
  return NULL;
}

static gboolean
do_job(GtkWidget* const window, const SrKey key, const GdkModifierType state)
{
  const GdkModifierType held = state & (GDK_CONTROL_MASK | GDK_ALT_MASK | GDK_SUPER_MASK);
  const char* const action = held ? NULL : action_for(sr_key_job(key));
  return action && gtk_widget_activate_action(window, action, NULL) ? GDK_EVENT_STOP
                                                                    : GDK_EVENT_PROPAGATE;
}

static gboolean
press_page(GtkEventControllerKey* const controller, const guint value, const guint code,
           const GdkModifierType state, GtkWidget* const window)
{
  (void)controller;
  (void)code;
  const SrKey key = key_of(value);
  return key == SR_KEY_PAGE_DOWN || key == SR_KEY_PAGE_UP ? do_job(window, key, state)
                                                          : GDK_EVENT_PROPAGATE;
}

static gboolean
press_other(GtkEventControllerKey* const controller, const guint value, const guint code,
            const GdkModifierType state, GtkWidget* const window)
{
  (void)controller;
  (void)code;
  return do_job(window, key_of(value), state);
}

static void
add(SrPractiseWindow* const window, const GtkPropagationPhase phase, GCallback const press)
{
  GtkEventController* const controller = gtk_event_controller_key_new();
  gtk_event_controller_set_propagation_phase(controller, phase);
  g_signal_connect(controller, "key-pressed", press, window);
  gtk_widget_add_controller(GTK_WIDGET(window), controller);
}

void
sr_window_keys_add(SrPractiseWindow* const window)
{
  add(window, GTK_PHASE_CAPTURE, G_CALLBACK(press_page));
  add(window, GTK_PHASE_BUBBLE, G_CALLBACK(press_other));
}

void
sr_window_keys_show(SrPractiseWindow* const window)
{
  GtkBuilder* const builder =
      gtk_builder_new_from_resource("/org/steadyreed/Steadyreed/window_keys.ui");
  GtkWindow* const keys = GTK_WINDOW(gtk_builder_get_object(builder, "keys"));
  gtk_window_set_transient_for(keys, GTK_WINDOW(window));
  gtk_window_present(keys);
  g_object_unref(builder);
}
