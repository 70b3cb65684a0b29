/* Memory slopes: how much p, m and what is remembered change from node to node in a pipe with a
 * memory, and whether its heads therefore only rise or only fall for a while, as
 * solver/surge/slopes.h tells for pipes without one.
 *
 * With y for 2 B Q, H for the head and M for (p + m)/2, a step sends p' = 2 H - p + y from a node
 * to the next one and m' = 2 H - m - y to the one before; H = M + (sum of shares of the wall times
 * (v - M))/(1 + total), v being the head as a term keeps it. From one step to the next twice the
 * head of a node grows by 1/(1 + total) times (slope of m before it) - (slope of p behind it) + 2
 * (2 H - 2 M) + 2 (growth of what is kept) with slopes as they are after the move. So it rises as
 * long as all slopes of m are above all slopes of p by more than what follows can change:
 *
 * Let W be the width of all slopes of p, m and v together, A the most that friction takes of a
 * slope of p - m in a step (the loss' steepest, and the share of the impedance that is memory's), c
 * the shares of friction over 2 B, T those of the wall, and R0 the sum over friction's terms of
 * their largest slopes. The slope of y is at most 1.25 (W + R) while R bounds that of the sum of
 * friction's terms, each of which goes towards its share of y: R <= R0 + 1.25 c (W + R) <= 1.2 R0
 * + 1.5 c W. A slope of p or m thus changes in a step by A W + 1.25 R + 2 T W <= (A + 2 c + 2 T) W
 * + 2 R0 at most, and v goes towards H, whose slope lies between those of M and v. In n steps with
 * q = n (A + 2 c + 2 T) <= 1/4 W <= (W0 + 4 n R0)/(1 - 2 q),    each slope changes by C = q W + 2 n
 * R0 at most. Of the wall remain 2 (2 H - 2 M) <= 4 T e, e being the most by which v and M differ,
 * and the growth of what is kept, 4 F e at most with F the sum of (1 - fade) share: for v - H is 2
 * e at most. M changes by W/2 + 2 T e in a step, so e <= (e0 + n W/2) exp(n 2 T) <= 1.3 (e0 + n
 * W/2). */
#ifndef SOLVER_SURGE_MEMORY_SLOPES_H
#define SOLVER_SURGE_MEMORY_SLOPES_H

#include "solver/surge/row.h"
#include "solver/surge/sweep.h"

/* Of some nodes side by side; slopes in m from one node to the next. */
struct memory_slopes {
    struct bounds right; /* of p */
    struct bounds left;  /* of m */
    double lagging;      /* the largest of each term of friction, together */
    struct bounds kept;  /* of v, all terms of the wall */
    double away;         /* m, largest |v - M| */
};

/* What they are judged by. */
struct memory_slopes_law {
    int steps;
    double change;   /* A + 2 c + 2 T */
    double given;    /* T + F */
    double rounding; /* m, most that rounding moves a value by in all steps */
};

/* Of so many steps, in all of which the pipe's limits hold. */
struct memory_slopes_law memory_slopes_law_of(const struct kernel_pipe *pipe, int steps);

/* Slopes from each of `count` nodes, from `node` of the pipe on, to the next one, which the pipe
 * has too. Nothing is told of what is remembered where waves alone show that heads neither only
 * rise nor only fall. */
void memory_slopes_find(const struct kernel *kernel, const struct kernel_pipe *pipe, int node,
                        int count, struct memory_slopes *slopes);

/* Which way heads go, but for slopes_tolerance in all steps; where water stands still both. */
enum { MEMORY_RISES = 1, MEMORY_FALLS = 2 };

/* Of all heads that no wave reaches in all steps but from nodes of these pieces; 0: neither way. */
unsigned memory_slopes_ways(int pieces, const struct memory_slopes piece[],
                            const struct memory_slopes_law *law);

#endif
