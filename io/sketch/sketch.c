#include "io/sketch/sketch.h"

#include "models/pipe.h"

#include <math.h>
#include <string.h>

/* Shapes of our own choice, from those every `dot` has; no open standard of pipework symbols was
 * taken, since their shapes could not be told apart at this size and without colour. */
const char sketch_legend[] =
    "Plain shapes of our own, of no standard. Thick box: tank; ellipse: pump; box with a point: "
    "non-return valve, letting through that way. "
    "Eight corners: other valve or strainer; thin box: point or open end. "
    "Arrows show the flow, broken lines that none runs. Heights over the case's datum, pressures "
    "over "
    "the air's; not to scale.";

static const double still = 1e-9; /* m3/s; less is no flow */

struct sketch {
    const struct site *site;
    const struct network *network;
    const struct field *flow; /* of the steady answer, in the order of the links; NULL: none */
    const struct field *opening;
    const struct field *loss;
    const struct field *pressure; /* of the points */
    FILE *out;
};

/* Text inside a label in double quotes: `dot` takes a backslash, a quote and an ampersand (as in
 * HTML) for its own. */
static void put(const struct sketch *sketch, const char *text)
{
    for (; text && *text; text++) {
        switch (*text) {
        case '"':
            (void)fputs("\\\"", sketch->out);
            break;
        case '\\':
            (void)fputs("&#92;", sketch->out);
            break;
        case '&':
            (void)fputs("&amp;", sketch->out);
            break;
        default:
            (void)fputc(*text, sketch->out);
        }
    }
}

/* The field of numbers along the links, or NULL when it is not of these links. */
static const struct field *link_field(const struct sketch *sketch, const struct sheet *steady,
                                      const char *name)
{
    const struct field *field = steady ? sheet_find(steady, name) : NULL;
    const struct field *names = steady ? sheet_find(steady, "link") : NULL;
    size_t count = (size_t)sketch->network->link_count;
    if (!field || !names || field->kind != FIELD_NUMBER || names->kind != FIELD_TEXT ||
        field->count != count || names->count != count) {
        return NULL;
    }
    for (size_t i = 0; i < count; i++) {
        if (!names->texts[i] || strcmp(names->texts[i], sketch->network->links[i].name) != 0) {
            return NULL;
        }
    }
    return field;
}

/* The point whose shape stands for this one: a tank has a point for each mouth, and one shape. */
static int shape_of(const struct sketch *sketch, int point)
{
    int tank = sketch->network->points[point].tank;
    return tank == NETWORK_NONE ? point : sketch->network->tanks[tank].point;
}

/* Pipes, bends and the like are drawn as lines; whatever acts stands as a shape of its own. */
static bool is_shape(const struct link *link)
{
    static const char *const lines[] = {"pipe", "fitting", "reducer", "tee"};
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        if (strcmp(link->element->kind, lines[i]) == 0) {
            return false;
        }
    }
    return link->run != NETWORK_NONE;
}

static void put_pump(const struct sketch *sketch, int i)
{
    FILE *out = sketch->out;
    if (sketch->flow && sketch->loss) {
        (void)fprintf(out, "\\n%.2f L/s, %.1f m", 1e3 * sketch->flow->numbers[i],
                      -sketch->loss->numbers[i]);
    }
}

static void put_valve(const struct sketch *sketch, int i)
{
    FILE *out = sketch->out;
    const struct non_return *valve = sketch->network->links[i].data;
    (void)fputs("\\n", out);
    put(sketch, valve->type);
    (void)fprintf(out, " DN%.0f", 1e3 * valve->bore);
    if (sketch->opening && isfinite(sketch->opening->numbers[i])) {
        (void)fprintf(out, "\\nopen %.0f %%", 100.0 * sketch->opening->numbers[i]);
    }
    if (sketch->loss && sketch->flow && fabs(sketch->flow->numbers[i]) > still) {
        (void)fprintf(out, "\\ntakes %.2f m", sketch->loss->numbers[i]);
    }
}

static void put_link_shape(const struct sketch *sketch, int i)
{
    const struct link *link = &sketch->network->links[i];
    bool is_pump = strncmp(link->element->kind, "pump", 4) == 0; /* with a rising curve too */
    bool is_valve = strcmp(link->element->kind, "non-return") == 0;
    FILE *out = sketch->out;
    (void)fprintf(out, "  l%d [shape=%s, label=\"", i,
                  is_pump    ? "ellipse, penwidth=1.6"
                  : is_valve ? "invhouse, penwidth=1.6"
                             : "octagon");
    put(sketch, link->name);
    if (is_pump) {
        put_pump(sketch, i);
    } else if (is_valve) {
        put_valve(sketch, i);
    } else {
        (void)fputs("\\n", out);
        put(sketch, link->element->kind);
    }
    (void)fputs("\"];\n", out);
}

/* What the case says of points and outlets (a tee's leg, an open end) belongs to no run; an open
 * end or an air vessel is no line but a word at its point. */
static bool is_open_end(const struct network *network, const struct link *link)
{
    const struct point *to = &network->points[link->to];
    return link->run == NETWORK_NONE && to->is_held && to->tank == NETWORK_NONE;
}

static void put_end_words(const struct sketch *sketch, int point)
{
    for (int i = 0; i < sketch->network->link_count; i++) {
        const struct link *link = &sketch->network->links[i];
        if (link->from == point && is_open_end(sketch->network, link)) {
            bool is_plain = strcmp(link->element->kind, "fitting") == 0;
            (void)fputs("\\n", sketch->out);
            put(sketch, is_plain ? "open end" : link->element->kind);
        }
    }
}

static void put_point_shape(const struct sketch *sketch, int i)
{
    const struct point *point = &sketch->network->points[i];
    FILE *out = sketch->out;
    if (point->tank != NETWORK_NONE) {
        const struct tank *tank = &sketch->network->tanks[point->tank];
        (void)fprintf(out, "  p%d [shape=box, penwidth=2.4, label=\"", i);
        put(sketch, tank->name);
        (void)fprintf(out, "\\nwater at %.2f m\\nbrim %.2f m, floor %.2f m\"];\n", tank->level,
                      tank->brim, tank->floor);
        return;
    }
    (void)fprintf(out, "  p%d [shape=box, penwidth=0.6, label=\"", i);
    put(sketch, point->name);
    (void)fprintf(out, "\\nat %.2f m", point->elevation);
    if (sketch->pressure && isfinite(sketch->pressure->numbers[i])) {
        (void)fprintf(out, "\\n%.2f bar", 1e-5 * sketch->pressure->numbers[i]);
    }
    put_end_words(sketch, i);
    (void)fputs("\"];\n", out);
}

/* The arrow of a line with this link's flow. */
static void put_arrow(const struct sketch *sketch, int link)
{
    double flow = sketch->flow ? sketch->flow->numbers[link] : 1.0;
    if (flow > still) {
        (void)fputs("dir=forward", sketch->out);
    } else if (flow < -still) {
        (void)fputs("dir=back", sketch->out);
    } else {
        (void)fputs("dir=none, style=dashed", sketch->out);
    }
}

/* Name, length of pipe and flow of a run, on its last line. */
static void put_run_words(const struct sketch *sketch, const struct run *run)
{
    double length = 0.0;
    FILE *out = sketch->out;
    (void)fputs(", label=\"  ", out);
    put(sketch, run->name);
    for (int i = run->first_link; i < run->first_link + run->link_count; i++) {
        const struct link *link = &sketch->network->links[i];
        if (link->element->pipe) {
            length += link->element->pipe(link->data)->friction.length;
        }
    }
    if (length > 0.0) {
        (void)fprintf(out, "  \\n  %.*f m of pipe", length < 100.0, length);
    }
    if (sketch->flow && run->link_count > 0) {
        (void)fprintf(out, "  \\n  %.2f L/s", 1e3 * sketch->flow->numbers[run->first_link]);
    }
    (void)fputs("  \"", out);
}

static void put_run(const struct sketch *sketch, const struct run *run)
{
    FILE *out = sketch->out;
    char from = 'p';
    int at = shape_of(sketch, run->from);
    for (int i = run->first_link; i < run->first_link + run->link_count; i++) {
        if (is_shape(&sketch->network->links[i])) {
            (void)fprintf(out, "  %c%d -> l%d [", from, at, i);
            put_arrow(sketch, i);
            (void)fputs("];\n", out);
            from = 'l';
            at = i;
        }
    }
    (void)fprintf(out, "  %c%d -> p%d [", from, at, shape_of(sketch, run->to));
    put_arrow(sketch, run->first_link);
    put_run_words(sketch, run);
    (void)fputs("];\n", out);
}

static void put_shapes(const struct sketch *sketch)
{
    const struct network *network = sketch->network;
    for (int i = 0; i < network->point_count; i++) {
        bool is_end = network->points[i].tank != NETWORK_NONE;
        if (shape_of(sketch, i) != i) {
            continue;
        }
        for (int k = 0; k < network->run_count; k++) {
            is_end = is_end || network->runs[k].from == i || network->runs[k].to == i;
        }
        for (int k = 0; k < network->link_count; k++) {
            const struct link *link = &network->links[k];
            bool is_loose = link->run == NETWORK_NONE && !is_open_end(network, link);
            is_end = is_end || (is_loose && (link->from == i || link->to == i));
        }
        if (is_end) {
            put_point_shape(sketch, i);
        }
    }
    for (int i = 0; i < network->link_count; i++) {
        if (is_shape(&network->links[i])) {
            put_link_shape(sketch, i);
        }
    }
}

static void put_lines(const struct sketch *sketch)
{
    const struct network *network = sketch->network;
    for (int i = 0; i < network->run_count; i++) {
        put_run(sketch, &network->runs[i]);
    }
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        if (link->run == NETWORK_NONE && !is_open_end(network, link)) {
            (void)fprintf(sketch->out, "  p%d -> p%d [", shape_of(sketch, link->from),
                          shape_of(sketch, link->to));
            put_arrow(sketch, i);
            (void)fputs(", label=\"  ", sketch->out);
            put(sketch, link->element->kind);
            (void)fputs("\"];\n", sketch->out);
        }
    }
}

bool sketch_fits(const struct site *site)
{
    int lines = site->network->run_count;
    for (int i = 0; i < site->network->link_count; i++) {
        lines += site->network->links[i].run == NETWORK_NONE;
    }
    return lines <= SKETCH_LINES_MOST;
}

void sketch_write(const struct site *site, const struct sheet *steady, FILE *out)
{
    struct sketch sketch = {.site = site, .network = site->network, .out = out};
    sketch.flow = link_field(&sketch, steady, "flow");
    sketch.opening = link_field(&sketch, steady, "opening");
    sketch.loss = link_field(&sketch, steady, "loss");
    const struct field *pressure = sketch.flow ? sheet_find(steady, "pressure") : NULL;
    const bool is_theirs = pressure && pressure->kind == FIELD_NUMBER &&
                           pressure->count == (size_t)site->network->point_count;
    sketch.pressure = is_theirs ? pressure : NULL;
    (void)fputs("digraph site {\n"
                "  graph [rankdir=TB, bgcolor=white, fontname=\"sans-serif\", fontsize=10, "
                "nodesep=0.4, ranksep=0.35, labelloc=b, label=\"\\n",
                out);
    for (const char *letter = sketch_legend; *letter; letter++) { /* a line for each sentence */
        bool is_end = letter[0] == '.' && letter[1] == ' ';
        (void)fputs(is_end ? ".\\n" : (char[]){*letter, '\0'}, out);
        letter += is_end;
    }
    (void)fputs("\"];\n"
                "  node [fontname=\"sans-serif\", fontsize=11, margin=\"0.12,0.06\"];\n"
                "  edge [fontname=\"sans-serif\", fontsize=11];\n",
                out);
    /* The title stands above, so all shapes lie in one cluster without an edge. */
    (void)fputs("  subgraph cluster_site {\n"
                "  graph [peripheries=0, labelloc=t, fontsize=13, label=\"",
                out);
    put(&sketch, site->name);
    (void)fputs(sketch.flow ? ": steady flow\\n \"];\n" : ": the site\\n \"];\n", out);
    put_shapes(&sketch);
    put_lines(&sketch);
    (void)fputs("  }\n}\n", out);
}
