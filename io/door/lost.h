/* Lost names: what a part of a case that could not be read may have held. Who asks for such a name
 * is not to blame: it is told when the part is mended. */
#ifndef IO_DOOR_LOST_H
#define IO_DOOR_LOST_H

#include "io/door/draft.h"

/* Whether a name that the draft does not know, or knows as something else, may be one that was
 * lost: of a run that could not be read, of what stands at its ends, or any at all where a name or
 * a section was refused. */
bool is_lost(struct draft *draft, const char *name);

#endif
