// SPDX-License-Identifier: GPL-3.0-or-later

#include "tune_model.h"

#include <string.h>

struct _SrTuneItem {
  GObject parent_instance;
  SrTuneModel* model; ///< Holds the entry
  const SrTuneEntry* entry;
  gboolean repeated;
  char* folded; ///< Its title
};

G_DEFINE_FINAL_TYPE(SrTuneItem, sr_tune_item, G_TYPE_OBJECT)

struct _SrTuneModel {
  GObject parent_instance;
  SrTuneList* list;
  gboolean* repeated; ///< One for each tune
};

static void
item_finalize(GObject* const object)
{
  SrTuneItem* const item = SR_TUNE_ITEM(object);
  g_object_unref(item->model);
  g_free(item->folded);
  G_OBJECT_CLASS(sr_tune_item_parent_class)->finalize(object);
}

static void
sr_tune_item_class_init(SrTuneItemClass* const class)
{
  G_OBJECT_CLASS(class)->finalize = item_finalize;
}

static void
sr_tune_item_init(SrTuneItem* const item)
{
  (void)item;
}

const SrTuneEntry*
sr_tune_item_entry(SrTuneItem* const item)
{
  return item->entry;
}

gboolean
sr_tune_item_is_repeated(SrTuneItem* const item)
{
  return item->repeated;
}

gboolean
sr_tune_item_matches(SrTuneItem* const item, const char* const words)
{
  char number[16];
  g_snprintf(number, sizeof(number), "%d", item->entry->number);
  return strstr(item->folded, words) != NULL || g_str_has_prefix(number, words);
}

static GType
item_type(GListModel* const model)
{
  (void)model;
  return SR_TYPE_TUNE_ITEM;
}

static guint
item_count(GListModel* const model)
{
  return (guint)sr_tune_list_count(SR_TUNE_MODEL(model)->list);
}

static gpointer
make_item(GListModel* const list, const guint index)
{
  SrTuneModel* const model = SR_TUNE_MODEL(list);
  if (index >= item_count(list)) {
    return NULL;
  }
  SrTuneItem* const item = SR_TUNE_ITEM(g_object_new(SR_TYPE_TUNE_ITEM, NULL));
  item->model = SR_TUNE_MODEL(g_object_ref(model));
  item->entry = sr_tune_list_entry(model->list, index);
  item->repeated = model->repeated[index];
  item->folded = g_utf8_casefold(item->entry->title, -1);
  return item;
}

static void
implement_list(GListModelInterface* const interface)
{
  interface->get_item_type = item_type;
  interface->get_n_items = item_count;
  interface->get_item = make_item;
}

G_DEFINE_FINAL_TYPE_WITH_CODE(SrTuneModel, sr_tune_model, G_TYPE_OBJECT,
                              G_IMPLEMENT_INTERFACE(G_TYPE_LIST_MODEL, implement_list))

static void
model_finalize(GObject* const object)
{
  SrTuneModel* const model = SR_TUNE_MODEL(object);
  sr_tune_list_del(model->list);
  g_free(model->repeated);
  G_OBJECT_CLASS(sr_tune_model_parent_class)->finalize(object);
}

static void
sr_tune_model_class_init(SrTuneModelClass* const class)
{
  G_OBJECT_CLASS(class)->finalize = model_finalize;
}

static void
sr_tune_model_init(SrTuneModel* const model)
{
  (void)model;
}

SrTuneModel*
sr_tune_model_new(SrTuneList* const list)
{
  SrTuneModel* const model = SR_TUNE_MODEL(g_object_new(SR_TYPE_TUNE_MODEL, NULL));
  const size_t count = sr_tune_list_count(list);
  GHashTable* const numbers = g_hash_table_new(NULL, NULL);
  model->list = list;
  model->repeated = g_new0(gboolean, count + 1);
  for (size_t i = 0; i < count; ++i) {
    // X:0, or an empty X:, cannot be asked for by its number
    const int number = sr_tune_list_entry(list, i)->number;
    model->repeated[i] = !g_hash_table_add(numbers, GINT_TO_POINTER(number)) || number == 0;
  }
  g_hash_table_unref(numbers);
  return model;
}
