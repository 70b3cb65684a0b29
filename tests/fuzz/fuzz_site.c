/* Whatever valid site bytes describe: it is read, its steady flow carries its proof, and its surge
 * neither loses water nor makes energy. The bytes choose among parts and sizes; when they end, the
 * rest is 0. An invented site between a pond and a tower: pumps with or without non-return valves,
 * a main in pieces, branches, outlets, things that protect it, and what happens to it. */
#include "io/door/door.h"
#include "solver/steady/certificate.h"
#include "solver/surge/surge.h"
#include "tests/fuzz/fuzz.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { TEXT_ROOM = 16384 };

/* How long a surge runs, s; under libFuzzer and its sanitizers short enough for many of them. */
#if SHORT_RUNS
static const double duration = 0.5;
#else
static const double duration = 2.0;
#endif

/* Water that balances but for round-off: of the largest flow here some 0.1 m3/s. */
static const double MASS_MOST = 1e-9; /* m3/s */
static const double HEAD_MOST = 1e-5; /* m, of heads up to 1000 */
static const double LOST_MOST = 1e-8; /* m3 over a surge */

struct bytes {
    const unsigned char *at;
    size_t left;
    char text[TEXT_ROOM];
    size_t used;
};

static unsigned next_byte(struct bytes *bytes)
{
    if (bytes->left == 0) {
        return 0;
    }
    bytes->left--;
    return *bytes->at++;
}

static bool toss(struct bytes *bytes, unsigned in)
{
    return next_byte(bytes) % in == 0;
}

/* Even in the logarithm, in 255 steps. */
static double spread(struct bytes *bytes, double low, double high)
{
    return low * pow(high / low, next_byte(bytes) / 255.0);
}

static const char *one_of(struct bytes *bytes, const char *const words[], unsigned count)
{
    return words[next_byte(bytes) % count];
}

#define ONE_OF(bytes, words) one_of(bytes, words, sizeof(words) / sizeof *(words))

__attribute__((format(printf, 2, 3))) static void say(struct bytes *bytes, const char *form, ...)
{
    va_list values;
    va_start(values, form);
    const int length =
        vsnprintf(bytes->text + bytes->used, sizeof bytes->text - bytes->used, form, values);
    va_end(values);
    if (length < 0 || bytes->used + (size_t)length >= sizeof bytes->text) {
        abort(); /* room is for the longest site there can be */
    }
    bytes->used += (size_t)length;
}

static void say_pipe(struct bytes *bytes)
{
    static const char *const sizes[] = {"pvc-u 63 pn10", "pvc-u 32 pn10", "pvc-u 110 pn10"};
    static const double longest[] = {3, 30, 300, 3000};
    const double length = spread(bytes, 0.2, longest[next_byte(bytes) % 4]);
    if (toss(bytes, 3)) {
        const double bore = spread(bytes, 8, 400);
        const double wall = spread(bytes, 1, 12);
        say(bytes,
            "      - {pipe: own, length: %.4g m, bore: %.4g mm, wall: %.4g mm, material: pvc-u, "
            "roughness: %.3g mm}\n",
            length, bore, wall,
            spread(bytes, 0.001, fmin(1.0, bore / 20))); /* a tenth is refused */
    } else {
        say(bytes, "      - {pipe: %s, length: %.4g m}\n", ONE_OF(bytes, sizes), length);
    }
}

static void say_valve(struct bytes *bytes, const char *name)
{
    static const char *const kinds[] = {"swing flap", "spring cone", "ball", "dual plate"};
    static const char *const sizes[] = {"DN25", "DN50", "DN80"};
    static const char *const mountings[] = {"vertical up", "level"};
    say(bytes, "      - {non-return: %s, name: %s, size: %s, mounting: %s}\n", ONE_OF(bytes, kinds),
        name, ONE_OF(bytes, sizes), ONE_OF(bytes, mountings));
}

static void say_fittings(struct bytes *bytes)
{
    if (toss(bytes, 2)) {
        say(bytes, "      - {bend: 90 deg, count: %u}\n", 1 + next_byte(bytes) % 9);
    }
    if (toss(bytes, 3)) {
        say(bytes, "      - union\n");
    }
}

/* Returns how many pumps there are. */
static int say_pumps(struct bytes *bytes, int count)
{
    const double flow = spread(bytes, 0.2, 20);
    const double head = spread(bytes, 2, 90);
    const double steep = spread(bytes, 0.05, 0.9);
    const double power = 9.81 * flow * head;
    say(bytes, "pumps:\n  lift:\n    speed: 2900 rpm\n    flow: 0 %.6g %.6g %.6g L/s\n", flow / 2,
        flow, 1.5 * flow);
    say(bytes, "    head: %.6g %.6g %.6g %.6g m\n", head, head * (1 - 0.1 * steep),
        head * (1 - 0.4 * steep), head * (1 - steep));
    say(bytes, "    power: %.6g %.6g %.6g %.6g W\n    inertia: %.3g kg m2\n", 0.6 * power, power,
        1.3 * power, 1.7 * power, spread(bytes, 1e-4, 1));
    return count;
}

static void say_ends(struct bytes *bytes)
{
    const double rise = spread(bytes, 0.5, 60);
    say(bytes,
        "site: Invented\nwater: {temperature: %.3g degC, altitude: %.4g m}\ntanks:\n"
        "  pond: {floor: -2 m, brim: 1 m, level: 0 m, area: 40 m2, outlet elevation: -1.5 m}\n"
        "  tower: {floor: %.6g m, brim: %.6g m, level: %.6g m, area: 4 m2}\n",
        spread(bytes, 1, 60), spread(bytes, 1, 4000), rise - 1, rise + 2, rise);
    say(bytes, "points:\n  fork: {elevation: 0.5 m}\n  crest: {elevation: %.6g m", 0.7 * rise);
    if (toss(bytes, 4)) {
        say(bytes, ", air vessel: {volume: %.4g L, gas: %.4g L}", 200.0, spread(bytes, 5, 150));
    } else if (toss(bytes, 4)) {
        say(bytes, ", air valve: {bore: %.4g mm}", spread(bytes, 5, 80));
    }
    say(bytes, "}\n");
    if (toss(bytes, 2)) {
        say(bytes, "  trough: {elevation: 0.5 m, draw: %.4g L/s}\n", spread(bytes, 1e-3, 3));
    } else {
        say(bytes, "  trough: {elevation: 0.5 m}\n"); /* a dead leg */
    }
    if (toss(bytes, 2)) {
        say(bytes,
            "outlets:\n  spray: {elevation: 0.6 m, bore: %.4g mm, discharge coefficient: 0.8}\n",
            spread(bytes, 1, 40));
    }
}

static void say_run(struct bytes *bytes, const char *name, const char *from, const char *to)
{
    say(bytes, "  %s:\n    from: %s\n    to: %s\n    parts:\n", name, from, to);
}

static void say_site(struct bytes *bytes, bool has_spray)
{
    const int pumps = say_pumps(bytes, 1 + (int)(next_byte(bytes) % 3));
    say(bytes, "runs:\n");
    for (int i = 1; i <= pumps; i++) {
        char name[32];
        (void)snprintf(name, sizeof name, "lift run %d", i);
        say_run(bytes, name, "pond", "fork");
        say_pipe(bytes);
        say(bytes, "      - {pump: lift, name: lift-%d}\n", i);
        (void)snprintf(name, sizeof name, "flap-%d", i);
        if (!toss(bytes, 8)) {
            say_valve(bytes, name);
        }
        say_fittings(bytes);
        say_pipe(bytes);
    }
    say_run(bytes, "main", "fork", "crest");
    say_pipe(bytes);
    say_fittings(bytes);
    say(bytes, "      - {valve: gate, name: gate, opening: %.3g}\n", spread(bytes, 0.01, 1));
    say_run(bytes, "climb", "crest", "tower");
    if (toss(bytes, 3)) {
        say_valve(bytes, "upper");
    }
    say_pipe(bytes);
    say_run(bytes, "branch", "crest", "trough");
    say_pipe(bytes);
    if (has_spray) {
        say_run(bytes, "leg", "fork", "spray");
        say_pipe(bytes);
    }
    say(bytes, "surge:\n  duration: %.1f s\n  reaches: 1\n  events:\n", duration);
    for (int i = 1; i <= pumps; i++) {
        if (!toss(bytes, 3)) {
            say(bytes, "    - {at: %.3g s, stop: lift-%d}\n", spread(bytes, 0.01, 1), i);
        }
    }
    say(bytes, "    - {at: 0.3 s, set: gate, to: %.3g, over: %.3g s}\n",
        toss(bytes, 2) ? 0 : spread(bytes, 0.01, 1), spread(bytes, 0.01, 2));
}

static void refuse(const struct bytes *bytes, const char *why, double value)
{
    (void)fprintf(stderr, "%s\n%s: %g\n", bytes->text, why, value);
    abort();
}

static void check_surge(const struct bytes *bytes, const struct site *site,
                        const struct steady *start, struct arena *arena)
{
    struct surge surge;
    struct failure failure = {0};
    struct surge_options options = surge_defaults;
    options.series_limit = 50;
    if (!surge_run_plan(site, site->network, start, &options, &surge, arena, &failure)) {
        return; /* the plan cannot be run, and it says why */
    }
    if (surge.ending != SURGE_DONE) {
        refuse(bytes, "surge found no answer", surge.time_reached);
    }
    if (!(fabs(surge.mass_residual) < LOST_MOST)) {
        refuse(bytes, "surge lost water", surge.mass_residual);
    }
    for (int i = 0; i < site->network->point_count; i++) {
        if (!isfinite(surge.head_max[i]) || !(surge.head_min[i] <= surge.head_max[i])) {
            refuse(bytes, "surge: a head is none", surge.head_max[i]);
        }
    }
}

static void check_site(const struct bytes *bytes, const struct site *site, struct arena *arena)
{
    struct steady steady;
    struct failure failure = {0};
    struct steady_solver *solver = steady_solver_new(site->network, &failure);
    double *sum = arena_take(arena, (size_t)site->network->point_count, sizeof *sum);
    if (!solver || !sum || !steady_init(&steady, site->network, arena, &failure) ||
        !steady_solve(solver, site->network, &site->water, &steady_defaults, &steady, &failure)) {
        refuse(bytes, failure.message, 0);
    }
    steady_solver_free(solver);
    if (steady.ending == STEADY_CUT_OFF_DRAW) {
        return; /* no water can come to the trough: that is the answer */
    }
    if (steady.ending != STEADY_CONVERGED) {
        refuse(bytes, steady_ending_text(steady.ending), steady.energy_residual);
    }
    const struct certificate proof =
        certificate_find(site->network, &site->water, steady.head, steady.flow, sum);
    const double worst = fmax(proof.energy_residual, proof.complementarity);
    if (!(proof.mass_residual < MASS_MOST) || !(worst < HEAD_MOST) || proof.outside > 0) {
        refuse(bytes, "steady: the laws are not met", fmax(proof.mass_residual, worst));
    }
    check_surge(bytes, site, &steady, arena);
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    static struct units *units; /* kept from run to run: its tables take long to read */
    struct bytes *bytes = calloc(1, sizeof *bytes);
    struct arena *arena = arena_new();
    struct failure failure;
    struct faults faults;
    struct site *site = NULL;
    units = units ? units : units_new(&failure);
    if (!bytes || !arena || !units) {
        abort();
    }
    bytes->at = data;
    bytes->left = size;
    say_ends(bytes);
    say_site(bytes, strstr(bytes->text, "outlets:") != NULL);
    faults_init(&faults, arena);
    if (!read_site_units("fuzz/site.yaml", bytes->text, bytes->used, units, arena, &site,
                         &faults)) {
        faults_write(&faults, FAULT_ERROR, stderr);
        refuse(bytes, "a valid site was refused", faults_count(&faults, FAULT_ERROR));
    }
    check_site(bytes, site, arena);
    arena_free(arena);
    free(bytes);
    return 0;
}
