// SPDX-License-Identifier: GPL-3.0-or-later

// The middle of the window: where its parts lie in each of the four states, in any shape of window.

#ifndef SR_WINDOW_STAGE_H
#define SR_WINDOW_STAGE_H

#include "big_label.h"
#include "input_meter.h"
#include "round_area.h"

G_BEGIN_DECLS

#define SR_TYPE_STAGE (sr_stage_get_type())
G_DECLARE_FINAL_TYPE(SrStage, sr_stage, SR, STAGE, GtkWidget)

typedef enum {
  SR_STAGE_READY,   ///< The phrase, what to do, the microphone
  SR_STAGE_PLAYING, ///< The phrase, and only faults in words
  SR_STAGE_VERDICT, ///< The words, the bar they are about, the rest
  SR_STAGE_RESTING,
} SrStageState;

GtkWidget* sr_stage_new(void);
void sr_stage_set_state(SrStage* stage, SrStageState state);
SrStageState sr_stage_state(SrStage* stage);

// Its parts

SrBigLabel* sr_stage_head(SrStage* stage);   ///< The one sentence
SrBigLabel* sr_stage_under(SrStage* stage);  ///< What is said under it
SrRoundArea* sr_stage_whole(SrStage* stage); ///< The whole phrase
SrRoundArea* sr_stage_part(SrStage* stage);  ///< The bar that the verdict is about
SrInputMeter* sr_stage_meter(SrStage* stage);
GtkBox* sr_stage_rest(SrStage* stage); ///< Figures, and what else there is to say
/// Whether there is a bar to be drawn large.
void sr_stage_let_part(SrStage* stage, gboolean shown);

G_END_DECLS

#endif // SR_WINDOW_STAGE_H
