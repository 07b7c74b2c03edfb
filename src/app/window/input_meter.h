// SPDX-License-Identifier: GPL-3.0-or-later

// How loud the microphone is: a scale with its good part shaded, and a hint in words.

#ifndef SR_WINDOW_INPUT_METER_H
#define SR_WINDOW_INPUT_METER_H

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define SR_TYPE_INPUT_METER (sr_input_meter_get_type())
G_DECLARE_FINAL_TYPE(SrInputMeter, sr_input_meter, SR, INPUT_METER, GtkWidget)

/// What there is to say about the microphone.
typedef enum {
  SR_INPUT_GOOD,
  SR_INPUT_DEAD, ///< Nothing at all has come for some seconds
  SR_INPUT_SOFT, ///< What was played is too soft
  SR_INPUT_LOUD, ///< Overdriven
} SrInputState;

GtkWidget* sr_input_meter_new(void);
/**
   Show a level.

   @param peak       Largest sample since the last one, full scale 1.
   @param overdriven It was overdriven.
   @param plays      A round goes on.
   @param now_s      Time on the session's clock.
*/
void sr_input_meter_take(SrInputMeter* meter, float peak, gboolean overdriven, gboolean plays,
                         double now_s);
/// A new session begins.
void sr_input_meter_reset(SrInputMeter* meter);
SrInputState sr_input_meter_state(SrInputMeter* meter);

G_END_DECLS

#endif // SR_WINDOW_INPUT_METER_H
