/* Door: reads a case file (YAML, with its tables) into a site, all in SI.
 * The only way in. Every quantity is converted here, once, in one thread. */
#ifndef IO_DOOR_DOOR_H
#define IO_DOOR_DOOR_H

#include "io/door/faults.h"
#include "io/door/keys.h"
#include "io/door/tree.h"
#include "io/door/units.h"
#include "models/arena.h"
#include "models/site.h"

/* Reads the case at `path`. True: *site is complete, in `arena`, and passed network_check; `faults`
 * (from faults_init) may still hold doubts and assumptions. False: *site is NULL and `faults` holds
 * at least one error, in file order. */
MUST_CHECK bool read_site(const char *path, struct arena *arena, struct site **site,
                          struct faults *faults);

/* The same for a text in memory; `path` names it in messages and is where its tables are looked
 * for. */
MUST_CHECK bool read_site_text(const char *path, const char *text, size_t size, struct arena *arena,
                               struct site **site, struct faults *faults);

/* The same with a reader of units that the caller keeps: to make one takes longer than to read a
 * case, which whoever reads many cases in one thread need not do for each. */
MUST_CHECK bool read_site_units(const char *path, const char *text, size_t size,
                                struct units *units, struct arena *arena, struct site **site,
                                struct faults *faults);

/* Reads a site from a tree read before (tree.h), which may have been changed since; without
 * the doubts of a whole case. `text` is what the tree was read from; tables come from the `shelf`
 * (NULL: from their files). The tree and its words must outlive the site. */
MUST_CHECK bool read_site_tree(const char *path, const char *text, const struct tree *root,
                               struct units *units, struct shelf *shelf, struct arena *arena,
                               struct site **site, struct faults *faults);

/* One non-return valve as a case would make it, in its water: of its own types or a built-in one.
 * `site` was read by read_site; `bore` m; `asked` is where faults are told. False: told. */
MUST_CHECK bool read_valve_of_case(const struct site *site, const char *type, double bore,
                                   enum mounting mounting, struct place asked, struct arena *arena,
                                   const struct non_return **valve, struct faults *faults);

/* Every section that a case file can have. */
void case_sections(struct sections *sections);

#endif
