// SPDX-License-Identifier: GPL-3.0-or-later

#include "config_file.h"

#include <steadyreed/input.h>
#include <steadyreed/output.h>
#include <steadyreed/setup.h>

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

char*
sr_config_file_path(const SrConfigFile* const file, const bool make)
{
  char* const folder = sr_config_folder(make);
  char* path = NULL;
  if (folder && asprintf(&path, "%s/%s", folder, file->name) < 0) {
    path = NULL;
  }
  free(folder);
  return path;
}

/// Rename a damaged file, so that it is reported once and a new one can be written.
static void
set_aside(const SrConfigFile* const file, const char* const path, SrError* const error)
{
  char* aside = NULL;
  for (unsigned i = 1; i < 100; ++i) {
    if (asprintf(&aside, "%s.damaged-%u", path, i) < 0) {
      return;
    }
    // Unlike rename(), link() does not replace an existing file
    if (!link(path, aside)) {
      unlink(path);
      const char* const name = strrchr(aside, '/');
      const SrError was = *error;
      sr_error_set(error, was.status, "%.300s It was moved to %.100s and %s", was.message,
                   name ? name + 1 : aside, file->damage);
      sr_error_place(error, path, was.line, was.column);
      free(aside);
      return;
    }
    free(aside);
    if (errno != EEXIST) {
      return;
    }
  }
}

/// Read the text of a file with a reader.
static SrStatus
read_text(const char* const text, const size_t size, const char* const path,
          SrConfigReader* const reader, void* const context, SrError* const error)
{
  json_error_t trouble;
  json_t* const json = json_loadb(text, size, JSON_REJECT_DUPLICATES, &trouble);
  const SrStatus status =
      json ? reader(json, context, error)
           : sr_error_set(error, SR_BAD_SYNTAX, "This is not JSON: %s.", trouble.text);
  if (status != SR_OK) {
    sr_error_place(error, path, !json && trouble.line > 0 ? (unsigned)trouble.line : 0, 0);
  }
  json_decref(json);
  return status;
}

SrStatus
sr_config_file_read(const SrConfigFile* const file, SrConfigReader* const reader,
                    void* const context, SrError* const error)
{
  char* const path = sr_config_file_path(file, false);
  if (!path) {
    return SR_OK;
  }
  const SrInputKind kind = {file->what, file->most_bytes, true};
  SrError why = {0};
  char* text = NULL;
  size_t size = 0;
  SrStatus status = sr_input_read(path, &kind, &text, &size, &why);
  const bool none = status == SR_NOT_FOUND;
  bool damaged = status == SR_TOO_LARGE || status == SR_UNSUPPORTED;
  if (status == SR_OK) {
    status = read_text(text, size, path, reader, context, &why);
    damaged = status != SR_OK && status != SR_NO_MEMORY;
  }
  free(text);
  if (damaged) {
    set_aside(file, path, &why);
  }
  if (status != SR_OK && !none && error) {
    *error = why;
  }
  free(path);
  return none ? SR_OK : status;
}

/// Write a file readable by its owner only.
static SrStatus
write_private(const SrConfigFile* const file, const char* const path, const char* const text,
              SrError* const error)
{
  SrOutput* output = NULL;
  SrStatus status = sr_output_new(path, &output, error);
  if (status == SR_OK) {
    (void)!fchmod(sr_output_descriptor(output), 0600);
    FILE* const stream = sr_output_stream(output);
    if (stream) {
      fprintf(stream, "%s\n", text);
      status = sr_output_finish(output, error);
    } else {
      status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to keep the %s.",
                            file->what);
    }
  }
  sr_output_del(output);
  return status;
}

SrStatus
sr_config_file_write(const SrConfigFile* const file, json_t* const json, SrError* const error)
{
  char* const path = sr_config_file_path(file, true);
  char* const text = json ? json_dumps(json, JSON_INDENT(1) | JSON_REAL_PRECISION(9)) : NULL;
  SrStatus status;
  if (!path) {
    status = sr_error_set(error, SR_NOT_FOUND,
                          "There is no home folder to keep the %s in. Set HOME or XDG_CONFIG_HOME "
                          "to a folder of your own.",
                          file->what);
  } else if (!text) {
    status =
        sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to keep the %s.", file->what);
  } else {
    status = write_private(file, path, text, error);
  }
  free(text);
  json_decref(json);
  free(path);
  return status;
}
