/* Folders and small files of the talk's own: what was typed, which tools are owned. */
#ifndef TALK_PATHS_H
#define TALK_PATHS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/err.h"
#include "base/text.h"

/* $XDG_STATE_HOME/halfsplit/NAME, or below ~/.local/state; made when missing. False when there is
 * no such folder to be had: then nothing is remembered, which is no error. */
bool paths_state(const char *name, struct text *path);

/* The same of $XDG_DATA_HOME/halfsplit, or ~/.local/share; made only when asked for, and false when
 * it is not there. */
bool paths_data(const char *name, bool make, struct text *path);

/* Writes a whole small file by a temporary one beside it. */
int paths_write(const char *path, const char *data, size_t size, struct hs_err *err);

#endif
