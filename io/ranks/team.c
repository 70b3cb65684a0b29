#include "io/ranks/team.h"

#include "models/letters.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

const double team_silence = 5.0;

static const double beat = 1.0;           /* s, between two signs of life */
static const double leader_silence = 120; /* s; longer than writing results takes */
static const struct timespec nap = {0, 1000000};

enum { LEADER = 0, ADVANCE_MAX = 64 };

/* What a message says, and what is in it. */
enum kind {
    /* to the leader */
    HELLO = 1, /* fingerprint */
    ASK,       /* int: how many variants are wanted */
    ROW,       /* struct row_message */
    IDLE,      /* stopped, and nothing is in work any more */
    ALIVE,     /* also to the helpers */
    LEFT,      /* text: why */
    BYE,       /* has heard OVER */
    /* to a helper */
    VARIANTS, /* struct batch */
    STOP,     /* begin nothing more */
    OVER,     /* say goodbye */
    END       /* bool: whether a rank is lost; go */
};

struct row_message {
    int variant;
    struct row row;
};

struct batch {
    int count;
    int variant[ADVANCE_MAX];
};

union message {
    struct row_message row;
    struct batch batch;
    int wanted;
    bool is_broken;
    char text[ROW_REASON_SIZE];
};

/* What the leader knows of a rank. */
struct member {
    bool is_here; /* said hello, of the same study */
    bool is_idle; /* said so */
    bool has_left;
    bool is_silent;
    double heard; /* s */
};

struct team {
    struct ranks *ranks;
    struct team_options options;
    char fingerprint[SHA256_TEXT_SIZE];
    double told; /* s, when the last sign of life was given */
    bool is_stopped;
    /* leader */
    struct hand_out hand_out;
    struct member *members; /* [ranks->count] */
    int left_count;         /* variants not done */
    /* helper */
    struct batch waiting; /* given, not begun */
    int working;          /* begun, not finished */
    int finished;         /* since the last look */
    int pace;             /* lately finished between two looks */
    bool is_asking;       /* an answer is to come */
    bool has_told_idle;
    bool is_over;
    double heard; /* s, from the leader */
};

static double now_seconds(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static bool is_leader(const struct team *team)
{
    return team->ranks->mine == LEADER;
}

struct team *team_new(struct ranks *ranks, const struct team_options *options, struct arena *arena,
                      struct failure *failure)
{
    struct team *team = arena_take(arena, 1, sizeof *team);
    if (!team) {
        (void)fail_memory(failure, "the ranks of the study");
        return NULL;
    }
    *team = (struct team){.ranks = ranks, .options = *options};
    (void)snprintf(team->fingerprint, sizeof team->fingerprint, "%s", options->fingerprint);
    team->options.fingerprint = team->fingerprint;
    team->heard = team->told = now_seconds();
    if (!is_leader(team)) {
        ranks_send(ranks, LEADER, HELLO, SHA256_TEXT_SIZE, options->fingerprint);
        return team;
    }
    team->members = arena_take(arena, (size_t)ranks->count, sizeof *team->members);
    if (!team->members) {
        (void)fail_memory(failure, "the ranks of the study");
        return NULL;
    }
    for (int i = 0; i < ranks->count; i++) {
        team->members[i] = (struct member){.heard = team->heard};
    }
    for (int i = 0; i < options->count; i++) {
        team->left_count += !options->is_done[i];
    }
    return hand_out_init(&team->hand_out, options->count, options->is_done, arena, failure) ? team
                                                                                            : NULL;
}

/* --- the leader --- */

static void tell_all(struct team *team, enum kind kind)
{
    for (int i = 1; i < team->ranks->count; i++) {
        /* One that is gone would leave its messages lying about until there is no room. */
        if (!team->members[i].is_silent) {
            ranks_send(team->ranks, i, (int)kind, 0, NULL);
        }
    }
}

static void stop_all(struct team *team)
{
    if (!team->is_stopped) {
        team->is_stopped = true;
        tell_all(team, STOP);
    }
}

static bool put_row(struct team *team, int variant, const struct row *row)
{
    if (variant < 0 || variant >= team->options.count || team->options.is_done[variant]) {
        return !team->is_stopped;
    }
    team->left_count--;
    if (!team->options.keep(team->options.keep_user, variant, row)) {
        stop_all(team);
    }
    return !team->is_stopped;
}

static void lose(struct team *team, int rank, const char *what)
{
    (void)hand_out_give_back(&team->hand_out, rank);
    team->options.tell(team->options.keep_user, rank, what);
}

static void greet(struct team *team, int rank, const char *fingerprint)
{
    if (strncmp(fingerprint, team->options.fingerprint, SHA256_TEXT_SIZE) == 0) {
        team->members[rank].is_here = true;
        return;
    }
    team->members[rank].has_left = true;
    ranks_send(team->ranks, rank, STOP, 0, NULL);
    lose(team, rank, "has another case, or is another version of the program; it is left out");
}

static void give(struct team *team, int rank, int wanted)
{
    struct batch batch = {0};
    const int most = wanted < ADVANCE_MAX ? wanted : ADVANCE_MAX;
    while (!team->is_stopped && team->members[rank].is_here && batch.count < most) {
        const int variant = hand_out_take(&team->hand_out, rank);
        if (variant == HAND_OUT_NONE) {
            break;
        }
        batch.variant[batch.count++] = variant;
    }
    /* An empty answer says: ask again. */
    ranks_send(team->ranks, rank, VARIANTS, sizeof batch, &batch);
}

static void hear_member(struct team *team, int rank, int kind, const union message *message)
{
    struct member *member = &team->members[rank];
    member->heard = now_seconds();
    member->is_silent = false;
    switch (kind) {
    case HELLO:
        greet(team, rank, message->text);
        break;
    case ASK:
        give(team, rank, message->wanted);
        break;
    case ROW:
        (void)put_row(team, message->row.variant, &message->row.row);
        break;
    case IDLE:
        member->is_idle = true;
        (void)hand_out_give_back(&team->hand_out, rank);
        break;
    case LEFT:
        member->has_left = true;
        lose(team, rank, message->text);
        break;
    default:
        break;
    }
}

/* Whether a rank's rows must still be waited for when no more shall be begun. */
static bool is_busy(const struct member *member)
{
    return member->is_here && !member->is_idle && !member->has_left && !member->is_silent;
}

static bool lead(struct team *team)
{
    union message message;
    int from = 0;
    int kind = 0;
    bool is_waiting = false;
    bool is_broken = false;
    while (ranks_receive(team->ranks, sizeof message, &message, &from, &kind)) {
        hear_member(team, from, kind, &message);
    }
    const double now = now_seconds();
    for (int i = 1; i < team->ranks->count; i++) {
        struct member *member = &team->members[i];
        if (!member->has_left && !member->is_silent && now - member->heard > team_silence) {
            member->is_silent = true;
            lose(team, i, "has not been heard of for five seconds; what it held goes to others");
        }
        is_waiting = is_waiting || is_busy(member);
        is_broken = is_broken || member->is_silent;
    }
    team->ranks->is_broken = is_broken;
    if (now - team->told > beat) {
        team->told = now;
        tell_all(team, ALIVE);
        if (team->options.is_stopped()) {
            stop_all(team);
        }
    }
    return team->is_stopped ? is_waiting : team->left_count > 0;
}

/* --- a helper --- */

static void hear_leader(struct team *team, int kind, const struct batch *batch)
{
    team->heard = now_seconds();
    switch (kind) {
    case VARIANTS:
        team->is_asking = false;
        for (int i = 0; i < batch->count && team->waiting.count < ADVANCE_MAX; i++) {
            team->waiting.variant[team->waiting.count++] = batch->variant[i];
        }
        break;
    case STOP:
        team->is_stopped = true;
        break;
    case OVER:
        team->is_stopped = team->is_over = true;
        break;
    default:
        break;
    }
}

/* Asks for as much as idle threads can begin, and in advance for what the next two looks will
 * finish: nothing where a variant lasts longer than that. */
static void ask(struct team *team)
{
    team->pace = team->finished > team->pace ? team->finished : 3 * team->pace / 4;
    team->finished = 0;
    const int room = ADVANCE_MAX - team->waiting.count;
    const int idle = team->options.worker_count - team->working;
    const int short_of = idle + 2 * team->pace - team->waiting.count;
    const int wanted = short_of < room ? short_of : room;
    if (!team->is_asking && wanted > 0) {
        team->is_asking = true;
        ranks_send(team->ranks, LEADER, ASK, sizeof wanted, &wanted);
    }
}

static bool help(struct team *team)
{
    union message message;
    int from = 0;
    int kind = 0;
    while (ranks_receive(team->ranks, sizeof message, &message, &from, &kind)) {
        hear_leader(team, kind, &message.batch);
    }
    const double now = now_seconds();
    if (now - team->told > beat) {
        team->told = now;
        ranks_send(team->ranks, LEADER, ALIVE, 0, NULL);
        team->is_stopped = team->is_stopped || team->options.is_stopped();
    }
    if (now - team->heard > leader_silence) {
        team->is_stopped = team->is_over = true;
    }
    if (!team->is_stopped) {
        ask(team);
    } else if (team->working == 0 && !team->has_told_idle) {
        team->has_told_idle = true;
        ranks_send(team->ranks, LEADER, IDLE, 0, NULL);
    }
    return !team->is_over;
}

static int begin_waiting(struct team *team)
{
    if (team->waiting.count == 0) {
        return SWEEP_WAIT;
    }
    const int variant = team->waiting.variant[0];
    team->waiting.count--;
    memmove(team->waiting.variant, team->waiting.variant + 1,
            (size_t)team->waiting.count * sizeof *team->waiting.variant);
    team->working++;
    return variant;
}

static void send_row(struct team *team, int variant, const struct row *row)
{
    const struct row_message message = {variant, *row};
    team->working--;
    team->finished++;
    ranks_send(team->ranks, LEADER, ROW, sizeof message, &message);
}

bool team_is_over(const struct team *team)
{
    return team->is_over;
}

/* Waits for a message of a kind from anybody, for at most `limit` after the last one that came. */
static bool wait_for(const struct ranks *ranks, enum kind wanted, double limit, int *from,
                     union message *message)
{
    int kind = 0;
    double heard = now_seconds();
    while (now_seconds() - heard < limit) {
        if (!ranks_receive(ranks, sizeof *message, message, from, &kind)) {
            (void)nanosleep(&nap, NULL);
        } else if (kind == (int)wanted) {
            return true;
        } else {
            heard = now_seconds();
        }
    }
    return false;
}

void team_leave(const struct ranks *ranks, const char *why)
{
    char text[ROW_REASON_SIZE] = "";
    union message message;
    int from = 0;
    letters_fit(why, sizeof text, text);
    ranks_send(ranks, LEADER, LEFT, sizeof text, text);
    (void)wait_for(ranks, OVER, leader_silence, &from, &message);
}

void team_say_goodbye(struct ranks *ranks)
{
    union message message;
    int from = 0;
    ranks_send(ranks, LEADER, BYE, 0, NULL);
    ranks->is_broken =
        !wait_for(ranks, END, 2.0 * team_silence, &from, &message) || message.is_broken;
}

/* --- both --- */

bool team_keep(void *user, int variant, const struct row *row)
{
    struct team *team = user;
    if (is_leader(team)) {
        return put_row(team, variant, row);
    }
    send_row(team, variant, row);
    return true;
}

int team_next(void *user)
{
    struct team *team = user;
    if (team->is_stopped) {
        return SWEEP_OVER;
    }
    if (!is_leader(team)) {
        return begin_waiting(team);
    }
    const int variant = hand_out_take(&team->hand_out, LEADER);
    if (variant != HAND_OUT_NONE) {
        return variant;
    }
    return team->left_count > 0 ? SWEEP_WAIT : SWEEP_OVER;
}

bool team_serve(void *user)
{
    struct team *team = user;
    return is_leader(team) ? lead(team) : help(team);
}

void team_let_go(struct ranks *ranks)
{
    union message message;
    int here = 1;
    int from = 0;
    for (int i = 1; i < ranks->count; i++) {
        ranks_send(ranks, i, OVER, 0, NULL);
    }
    while (here < ranks->count && !ranks->is_broken) {
        if (wait_for(ranks, BYE, team_silence, &from, &message)) {
            here++;
        } else {
            ranks->is_broken = true;
        }
    }
    for (int i = 1; i < ranks->count; i++) {
        ranks_send(ranks, i, END, sizeof ranks->is_broken, &ranks->is_broken);
    }
    if (ranks->is_broken) {
        /* What was sent is on its way only while somebody looks, which ranks_end will not. */
        (void)wait_for(ranks, END, 2.0 * beat, &from, &message);
    }
}
