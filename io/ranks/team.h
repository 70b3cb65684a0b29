/* Team: the variants of a study shared among ranks.
 *
 * The leader (rank 0) holds the rows and the list of what is to be begun, works itself, and gives
 * every helper one variant for each of its threads, and some in advance where variants are short.
 * A row goes to the leader as soon as it is there. What a rank held that ends, or that has not been
 * heard of for `team_silence`, goes to others; a row that comes twice is the same row, and the
 * second is dropped. The leader's own end ends the study; its journal has all rows that reached it.
 */
#ifndef IO_RANKS_TEAM_H
#define IO_RANKS_TEAM_H

#include "io/ranks/ranks.h"
#include "io/results/sha256.h"
#include "solver/study/hand_out.h"
#include "solver/study/sweep.h"

extern const double team_silence; /* s */

struct team;

struct team_options {
    const char *fingerprint; /* of the case and the program; ranks of another one are left out */
    int worker_count;        /* threads of this rank */
    int count;               /* variants */
    const bool *is_done;     /* [count] the leader's; others set it in `keep` */

    /* The leader's: keeps a row. False: nothing more shall be begun. */
    bool (*keep)(void *keep_user, int variant, const struct row *row);
    /* Whether somebody wants all to stop. */
    bool (*is_stopped)(void);
    /* The leader's: tells of a rank that is lost. */
    void (*tell)(void *keep_user, int rank, const char *what);
    void *keep_user;
};

/* Borrows all but the fingerprint, and comes from `arena`. NULL: memory ended. */
struct team *team_new(struct ranks *ranks, const struct team_options *options, struct arena *arena,
                      struct failure *failure);

/* The shapes of sweep.keep, next and serve; `user` is the team. */
bool team_keep(void *user, int variant, const struct row *row);
int team_next(void *user);
bool team_serve(void *user);

/* Whether the leader has let this helper go. */
bool team_is_over(const struct team *team);

/* The word of a helper that goes before it is let go: why. Then it waits for that. */
void team_leave(const struct ranks *ranks, const char *why);

/* A helper's last word, and what the leader says to it: whether a rank is lost (ranks->is_broken).
 */
void team_say_goodbye(struct ranks *ranks);

/* The leader's last word to all, nothing more is asked of you, and theirs; who does not say it in
 * `team_silence` is lost. */
void team_let_go(struct ranks *ranks);

#endif
