/* Cases whose points and pipes come from CSV files, written here beside a case in memory. */
#include "io/door/door.h"
#include "models/pipe.h"
#include "solver/steady/steady.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The case's path: tables are looked for beside it. Each test has its own files. */
#define CASE_PATH BUILD_DIR "/tables_case.yaml"

struct read {
    struct arena *arena;
    struct faults faults;
    struct site *site;
    bool is_good;
};

static void write_file(const char *name, const char *text)
{
    char path[512];
    (void)snprintf(path, sizeof path, "%s/%s", BUILD_DIR, name);
    FILE *file = fopen(path, "w");
    cr_assert(file);
    (void)fputs(text, file);
    (void)fclose(file);
}

static struct read read_case(const char *test, const char *points, const char *pipes)
{
    char name[64];
    char text[400];
    struct read read = {.arena = arena_new()};
    (void)snprintf(name, sizeof name, "%s_points.csv", test);
    write_file(name, points);
    (void)snprintf(name, sizeof name, "%s_pipes.csv", test);
    write_file(name, pipes);
    (void)snprintf(text, sizeof text,
                   "site: t\ntanks: {west: {level: 30 m, fixed: true}, "
                   "east: {level: 20 m, fixed: true}}\n"
                   "tables: {points: %s_points.csv, pipes: %s_pipes.csv}\n",
                   test, test);
    faults_init(&read.faults, read.arena);
    read.is_good =
        read_site_text(CASE_PATH, text, strlen(text), read.arena, &read.site, &read.faults);
    return read;
}

static const char good_points[] = "name,elevation [m],draw [L/s]\n"
                                  "a,1.25,0.5\n"
                                  "# a comment\n"
                                  "\"b\", 200 ,\n";

Test(tables_case, columns_are_read_in_their_units)
{
    const struct read read = read_case("units", good_points,
                                       "name;bore [mm];from;to;length [km];roughness [mm];note\r\n"
                                       "p1;100;west;a;0.5;0.1;old\r\n"
                                       "p2;50;a;b;1e-1;0;\r\n"
                                       "p3;50;b;east;0.25;0;\r\n");
    cr_assert(read.is_good);
    const struct network *network = read.site->network;
    cr_assert_eq(network->point_count, 4);
    cr_assert_eq(network->link_count, 3);
    const struct point *a = &network->points[network_find_point(network, "a")];
    const struct point *b = &network->points[network_find_point(network, "b")];
    cr_assert_float_eq(a->elevation, 1.25, 0);
    cr_assert_float_eq(a->draw, 0.5e-3, 1e-18);
    cr_assert_float_eq(b->elevation, 200, 0);
    cr_assert_float_eq(b->draw, 0, 0);
    const struct pipe *pipe = network->links[0].element->pipe(network->links[0].data);
    cr_assert_float_eq(pipe->friction.length, 500, 1e-12);
    cr_assert_float_eq(pipe->friction.bore, 0.1, 1e-16);
    cr_assert_float_eq(pipe->friction.roughness, 1e-4, 1e-18);
    cr_assert_float_eq(network->links[0].area, acos(-1.0) / 400, 1e-15);
    arena_free(read.arena);
}

/* Dressed up or bare, a cell holds what it holds. */
Test(tables_case, blanks_quotes_and_line_ends_change_nothing)
{
    static const char *const pipes[] = {
        "name,from,to,length [m],bore [mm],roughness [mm]\np1,west,a,12.5,100,0\np "
        "2,a,b,.5,50.,0.1\n"
        "p3,b,east,7,50,0.1\n",
        "name;from;to;length [m];bore [mm];roughness [mm]\r\n"
        " p1 ;\twest;a ;12.5\t; 100;0 \r\n\"p 2\";\"a\";b;\".5\";5e1;+0.1\r\n\r\n"
        "p3;b;east;7.0000000000000000;50;0.1",
    };
    struct read read[2];
    for (int i = 0; i < 2; i++) {
        read[i] = read_case(i == 0 ? "bare" : "dressed", good_points, pipes[i]);
        cr_assert(read[i].is_good);
        cr_assert_eq(read[i].site->network->link_count, 3);
    }
    for (int i = 0; i < 3; i++) {
        const struct link *bare = &read[0].site->network->links[i];
        const struct link *dressed = &read[1].site->network->links[i];
        const struct friction *one = bare->element->friction(bare->data);
        const struct friction *other = dressed->element->friction(dressed->data);
        cr_assert_str_eq(bare->name, dressed->name);
        cr_assert_eq(bare->from, dressed->from);
        cr_assert_eq(bare->to, dressed->to);
        cr_assert_float_eq(one->length, other->length, 0);
        cr_assert_float_eq(one->bore, other->bore, 0);
        cr_assert_float_eq(one->roughness, other->roughness, 0);
    }
    arena_free(read[0].arena);
    arena_free(read[1].arena);
}

/* The C library's strtod, which rounds correctly, is the judge of every form of number. */
Test(tables_case, numbers_are_the_nearest_doubles)
{
    enum { COUNT = 4000, ROOM = 48 };
    char *points = calloc(COUNT + 1, ROOM);
    char *pipes = calloc(COUNT + 2, ROOM); /* a point that no pipe reaches is left out */
    double *wanted = calloc(COUNT, sizeof *wanted);
    unsigned chance = 12345;
    cr_assert(points && pipes && wanted);
    char *at = points + sprintf(points, "name,elevation [m]\n");
    char *end = pipes + sprintf(pipes, "name,from,to,length [m],bore [mm],roughness [mm]\n");
    for (int i = 0; i < COUNT; i++) {
        char number[32];
        chance = 1664525U * chance + 1013904223U; /* Knuth's example of a linear generator */
        const double value = ((double)chance - 2147483648.0) / (1 + i % 7919);
        if (i % 2 == 0) {
            (void)snprintf(number, sizeof number, "%.*f", i % 17, value / 1e6);
        } else {
            (void)snprintf(number, sizeof number, "%.*e", i % 17, value / 1e6);
        }
        wanted[i] = strtod(number, NULL);
        at += sprintf(at, "n%d,%s\n", i, number);
        end += sprintf(end, "p%d,west,n%d,5,100,0.1\n", i, i);
    }
    const struct read read = read_case("numbers", points, pipes);
    cr_assert(read.is_good);
    const struct point *first =
        &read.site->network->points[network_find_point(read.site->network, "n0")];
    for (int i = 0; i < COUNT; i++) {
        cr_assert_float_eq(first[i].elevation, wanted[i], 0, "line %d: %.17g, not %.17g", i + 2,
                           first[i].elevation, wanted[i]);
    }
    free(points);
    free(pipes);
    free(wanted);
    arena_free(read.arena);
}

Test(tables_case, a_network_from_tables_is_solved)
{
    const struct read read = read_case("solved", good_points,
                                       "name,from,to,length [m],bore [mm],roughness [mm]\n"
                                       "p1,west,a,500,100,0.1\n"
                                       "p2,a,b,100,100,0.1\n"
                                       "p3,b,east,250,100,0.1\n");
    struct failure failure;
    struct steady steady;
    cr_assert(read.is_good);
    cr_assert(steady_init(&steady, read.site->network, read.arena, &failure));
    struct steady_solver *solver = steady_solver_new(read.site->network, &failure);
    cr_assert(solver);
    cr_assert(steady_solve(solver, read.site->network, &read.site->water, &steady_defaults, &steady,
                           &failure));
    steady_solver_free(solver);
    cr_assert_eq(steady.ending, STEADY_CONVERGED);
    cr_assert_float_eq(steady.flow[0] - steady.flow[2], 0.5e-3, 1e-15);
    arena_free(read.arena);
}

static void has_fault(const struct read *read, const char *file, int line, const char *words)
{
    cr_assert_not(read->is_good);
    for (int i = 0; i < read->faults.count; i++) {
        const struct failure *fault = &read->faults.list[i].failure;
        if (fault->place.line == line && strstr(fault->message, words) &&
            strstr(fault->place.file, file)) {
            return;
        }
    }
    cr_assert_fail("no fault in %s:%d with '%s'", file, line, words);
}

static const char head[] = "name,from,to,length [m],bore [mm],roughness [mm]\n";

static struct read read_pipe(const char *test, const char *row)
{
    char text[256];
    (void)snprintf(text, sizeof text, "%s%s", head, row);
    return read_case(test, good_points, text);
}

Test(tables_case, faults_are_told_with_file_and_line)
{
    const struct read read = read_pipe("faults", "p1,west,nowhere,5,100,0.1\n"
                                                 "p2,west,a,five,100,0.1\n"
                                                 "p3,west,a,5,0,0.1\n"
                                                 "p4,west,a,5,100\n"
                                                 "p5,west,a,5,100,-1\n");
    has_fault(&read, "faults_pipes.csv", 2, "'nowhere'");
    has_fault(&read, "faults_pipes.csv", 3, "'five' is not a number");
    has_fault(&read, "faults_pipes.csv", 4, "above 0");
    has_fault(&read, "faults_pipes.csv", 5, "5 cells, the first 6");
    has_fault(&read, "faults_pipes.csv", 6, "cannot be a roughness");
    arena_free(read.arena);
}

Test(tables_case, a_name_twice_and_a_pipe_onto_itself_are_told)
{
    const struct read read = read_pipe("twice", "p1,west,a,5,100,0.1\n"
                                                "p1,a,b,5,100,0.1\n");
    has_fault(&read, "twice_pipes.csv", 3, "'p1' is taken");
    arena_free(read.arena);
    const struct read loop = read_pipe("loop", "p1,west,a,5,100,0.1\np2,a,a,5,100,0.1\n"
                                               "p3,a,b,5,100,0.1\n");
    has_fault(&loop, "loop_pipes.csv", 3, "both its ends");
    arena_free(loop.arena);
}

Test(tables_case, heads_without_column_or_unit_are_told)
{
    const struct read lacking = read_case("lacking", good_points, "name,from,to,bore [mm]\n");
    has_fault(&lacking, "lacking_pipes.csv", 1, "'length' is missing");
    arena_free(lacking.arena);
    const struct read bare =
        read_case("bare", good_points, "name,from,to,length,bore [mm],roughness [mm]\n");
    has_fault(&bare, "bare_pipes.csv", 1, "length [m]");
    arena_free(bare.arena);
    const struct read empty = read_case("empty", "\n", head);
    has_fault(&empty, "empty_points.csv", 1, "empty");
    arena_free(empty.arena);
}
