/* What is not named here is left out, so that nothing unknown comes into a page. */
#include "io/report/svg.h"

#include "io/report/html.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

enum { NAME_SIZE = 40 };

static const char *const elements[] = {
    "g",   "path",     "text", "tspan",  "circle",  "ellipse",     "rect",     "polygon", "line",
    "use", "polyline", "defs", "filter", "feFlood", "feComposite", "clipPath", "pattern"};

static const char *const attributes[] = {"id",
                                         "d",
                                         "points",
                                         "x",
                                         "y",
                                         "dx",
                                         "dy",
                                         "x1",
                                         "y1",
                                         "x2",
                                         "y2",
                                         "cx",
                                         "cy",
                                         "r",
                                         "rx",
                                         "ry",
                                         "width",
                                         "height",
                                         "transform",
                                         "fill",
                                         "fill-opacity",
                                         "fill-rule",
                                         "stroke",
                                         "stroke-width",
                                         "color",
                                         "opacity",
                                         "stroke-dasharray",
                                         "stroke-linecap",
                                         "stroke-linejoin",
                                         "stroke-opacity",
                                         "stroke-miterlimit",
                                         "text-anchor",
                                         "font-family",
                                         "font-size",
                                         "font-weight",
                                         "font-style",
                                         "xlink:href",
                                         "href",
                                         "filter",
                                         "filterUnits",
                                         "clip-path",
                                         "flood-color",
                                         "flood-opacity",
                                         "in",
                                         "in2",
                                         "operator",
                                         "result",
                                         "patternUnits"};

#define COUNT(list) (sizeof(list) / sizeof *(list))

static bool is_listed(const char *name, size_t count, const char *const list[])
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(name, list[i]) == 0) {
            return true;
        }
    }
    return false;
}

static const char *read_name(const char *at, char name[NAME_SIZE])
{
    size_t length = 0;
    while (isalnum((unsigned char)*at) || (*at && strchr(":-_.", *at))) {
        if (length + 1 < NAME_SIZE) {
            name[length++] = *at;
        }
        at++;
    }
    name[length] = '\0';
    return at;
}

/* Finds the next attribute before `end`: its name, and its value between quotes. NULL: no more. */
static const char *read_attribute(const char *at, const char *end, char name[NAME_SIZE],
                                  const char **value, size_t *size)
{
    while (at < end && (isspace((unsigned char)*at) || *at == '/')) {
        at++;
    }
    at = at < end ? read_name(at, name) : end;
    while (at < end && isspace((unsigned char)*at)) {
        at++;
    }
    if (at >= end || *at != '=') {
        return NULL;
    }
    at++;
    while (at < end && isspace((unsigned char)*at)) {
        at++;
    }
    if (at >= end || (*at != '"' && *at != '\'')) {
        return NULL;
    }
    const char *close = memchr(at + 1, *at, (size_t)(end - at - 1));
    if (!close) {
        return NULL;
    }
    *value = at + 1;
    *size = (size_t)(close - at - 1);
    return close + 1;
}

/* What a value is taken as: an id, a reference "#id", "url(#id)", plain, or nothing fit to keep. */
static void put_value(FILE *out, int number, const char *name, const char *value, size_t size)
{
    const char *shown = strcmp(name, "xlink:href") == 0 ? "href" : name;
    bool is_reference = strcmp(shown, "href") == 0;
    bool is_address = size > 5 && strncmp(value, "url(#", 5) == 0;
    bool is_odd = false;
    for (size_t i = 0; i < size; i++) {
        is_odd = is_odd || value[i] == '<' || value[i] == '"';
    }
    if (is_odd || (is_reference && (size == 0 || value[0] != '#')) ||
        (!is_address && size >= 3 && strncmp(value, "url", 3) == 0)) {
        return;
    }
    (void)fprintf(out, " %s=\"", shown);
    if (strcmp(name, "id") == 0) {
        (void)fprintf(out, "picture-%d-", number);
    } else if (is_reference || is_address) {
        int mark = is_address ? 5 : 1;
        (void)fprintf(out, "%.*spicture-%d-", mark, value, number);
        value += mark;
        size -= (size_t)mark;
    }
    (void)fwrite(value, 1, size, out);
    (void)fputc('"', out);
}

/* The end of a tag that begins at `at` ("<"), quotes heeded; NULL: it has none. */
static const char *tag_end(const char *at)
{
    char quote = '\0';
    for (; *at; at++) {
        if (quote) {
            if (*at == quote) {
                quote = '\0';
            }
        } else if (*at == '"' || *at == '\'') {
            quote = *at;
        } else if (*at == '>') {
            return at;
        }
    }
    return NULL;
}

static void put_tag(FILE *out, int number, const char *at, const char *end)
{
    char name[NAME_SIZE];
    const char *value = NULL;
    size_t size = 0;
    bool is_close = at[1] == '/';
    at = read_name(at + 1 + is_close, name);
    (void)fprintf(out, "<%s%s", is_close ? "/" : "", name);
    while (!is_close && (at = read_attribute(at, end, name, &value, &size))) {
        if (is_listed(name, COUNT(attributes), attributes)) {
            put_value(out, number, name, value, size);
        }
    }
    (void)fputs(!is_close && end[-1] == '/' ? "/>" : ">", out);
}

/* Goes over an element that is left out, with all in it, from its "<" on. */
static const char *skip_element(const char *at, const char *end, const char *name)
{
    char close[NAME_SIZE + 4];
    if (end[-1] == '/' || at[1] == '/' || at[1] == '?' || at[1] == '!') {
        return end + 1;
    }
    (void)snprintf(close, sizeof close, "</%s", name);
    const char *found = strstr(end, close);
    const char *stop = found ? strchr(found, '>') : NULL;
    return stop ? stop + 1 : end + strlen(end);
}

static void put_body(FILE *out, int number, const char *at)
{
    while (*at) {
        char name[NAME_SIZE];
        if (*at != '<') {
            (void)fputc((unsigned char)*at++, out);
            continue;
        }
        if (strncmp(at, "<!--", 4) == 0) {
            const char *stop = strstr(at, "-->");
            at = stop ? stop + 3 : at + strlen(at);
            continue;
        }
        const char *end = tag_end(at);
        if (!end) {
            return;
        }
        (void)read_name(at + 1 + (at[1] == '/'), name);
        if (strcmp(name, "svg") == 0) {
            return; /* its close */
        }
        if (is_listed(name, COUNT(elements), elements)) {
            put_tag(out, number, at, end);
            at = end + 1;
        } else {
            at = skip_element(at, end, name);
        }
    }
}

/* The third of the four numbers of a viewBox: "0 0 529 360". */
static double view_width(const char *box)
{
    char *end = NULL;
    (void)strtod(box, &end);
    (void)strtod(end, &end);
    return strtod(end, &end);
}

bool svg_put(FILE *out, const char *text, const struct svg_words *words)
{
    char name[NAME_SIZE];
    const char *value = NULL;
    size_t size = 0;
    const char *open = strstr(text, "<svg");
    const char *end = open ? tag_end(open) : NULL;
    const char *at = end ? open + 4 : NULL;
    while (at && (at = read_attribute(at, end, name, &value, &size))) {
        if (strcmp(name, "viewBox") == 0) {
            break;
        }
    }
    if (!at || strspn(value, "0123456789.-+e ") < size) {
        return false;
    }
    /* A small sketch would shout if it were drawn as wide as the page. */
    static const double small = 620.0; /* units of its own, about a pixel each */
    static const double tiny = 400.0;
    const double width = view_width(value);
    (void)fprintf(out, "<svg%s ",
                  width < tiny    ? " class=\"tiny\""
                  : width < small ? " class=\"small\""
                                  : "");
    (void)fprintf(out,
                  "viewBox=\"%.*s\" role=\"img\" aria-labelledby=\"picture-%d-title "
                  "picture-%d-description\">\n",
                  (int)size, value, words->number, words->number);
    (void)fprintf(out, "<title id=\"picture-%d-title\">", words->number);
    html_text(out, words->title);
    (void)fprintf(out, "</title>\n<desc id=\"picture-%d-description\">", words->number);
    html_text(out, words->description);
    (void)fputs("</desc>\n", out);
    put_body(out, words->number, end + 1);
    (void)fputs("</svg>\n", out);
    return true;
}
