// SPDX-License-Identifier: GPL-3.0-or-later

#include "ffmpeg.h"

#include <libavcodec/version.h>
#include <libavformat/version.h>
#include <libavutil/macros.h>
#include <libavutil/version.h>
#include <libswresample/version.h>

#include <dlfcn.h>
#include <pthread.h>
#include <stdbool.h>
#include <string.h>

// The name has the version of the binary interface that the headers describe
#ifdef __APPLE__
#define LIBRARY(name, version) "lib" name "." AV_STRINGIFY(version) ".dylib"
#else
#define LIBRARY(name, version) "lib" name ".so." AV_STRINGIFY(version)
#endif

static SrFfmpeg functions;
static bool loaded;

/// Find a function; false if there is none.
static bool
find(void* const library, const char* const name, void* const function)
{
  void* const found = library ? dlsym(library, name) : NULL;
  // ISO C has no conversion between pointers to objects and to functions
  memcpy(function, &found, sizeof(found));
  return found != NULL;
}

#define FIND(name) found = find(library, #name, &functions.name) && found;

static void
load(void)
{
  bool found = true;
  // They stay loaded until the program ends
  void* library = dlopen(LIBRARY("avutil", LIBAVUTIL_VERSION_MAJOR), RTLD_LAZY | RTLD_LOCAL);
  SR_AVUTIL_FUNCTIONS(FIND)
  library = dlopen(LIBRARY("swresample", LIBSWRESAMPLE_VERSION_MAJOR), RTLD_LAZY | RTLD_LOCAL);
  SR_SWRESAMPLE_FUNCTIONS(FIND)
  library = dlopen(LIBRARY("avcodec", LIBAVCODEC_VERSION_MAJOR), RTLD_LAZY | RTLD_LOCAL);
  SR_AVCODEC_FUNCTIONS(FIND)
  library = dlopen(LIBRARY("avformat", LIBAVFORMAT_VERSION_MAJOR), RTLD_LAZY | RTLD_LOCAL);
  SR_AVFORMAT_FUNCTIONS(FIND)
  loaded = found;
}

const SrFfmpeg*
sr_ffmpeg(void)
{
  static pthread_once_t once = PTHREAD_ONCE_INIT;
  pthread_once(&once, load);
  return loaded ? &functions : NULL;
}
