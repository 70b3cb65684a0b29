#include "io/door/scalar.h"

#include <stdint.h>
#include <string.h>

struct writer {
    const char *at;
    const char *end;
    char *text;
    size_t length;
    size_t solid; /* so much of the text stays where a line ends, though it is blank: escaped */
};

static bool is_white(char c)
{
    return c == ' ' || c == '\t';
}

static void put(struct writer *writer, char c)
{
    writer->text[writer->length++] = c;
}

/* --- in quotes --- */

/* From a line break to the next line with something in it: one break is a blank, more are one less.
 */
static void fold_break(struct writer *writer, bool is_escaped)
{
    size_t breaks = 0;
    while (!is_escaped && writer->length > writer->solid &&
           is_white(writer->text[writer->length - 1])) {
        writer->length--;
    }
    while (writer->at < writer->end && (*writer->at == '\n' || is_white(*writer->at))) {
        breaks += *writer->at++ == '\n';
    }
    for (size_t i = 1; i < breaks; i++) {
        put(writer, '\n');
    }
    if (breaks == 1 && !is_escaped) {
        put(writer, ' ');
    }
    writer->solid = writer->length;
}

size_t scalar_single(const char *raw, size_t length, char text[])
{
    struct writer writer = {raw, raw + length, text, 0, 0};
    while (writer.at < writer.end) {
        if (*writer.at == '\n') {
            fold_break(&writer, false);
            continue;
        }
        const bool is_quote = *writer.at == '\'';
        put(&writer, *writer.at++);
        writer.at += is_quote && writer.at < writer.end; /* two for one */
    }
    text[writer.length] = '\0';
    return writer.length;
}

/* So many hexadecimal digits as one letter. */
static bool take_code(struct writer *writer, int digits)
{
    uint32_t code = 0;
    for (; digits > 0; digits--, writer->at++) {
        const int c = writer->at < writer->end ? *writer->at : 0;
        const int digit = c >= '0' && c <= '9'   ? c - '0'
                          : c >= 'a' && c <= 'f' ? c - 'a' + 10
                          : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                                 : -1;
        if (digit < 0) {
            return false;
        }
        code = 16 * code + (uint32_t)digit;
    }
    if (code < 0x80) {
        put(writer, (char)code);
    } else if (code < 0x800) {
        put(writer, (char)(0xC0 | (code >> 6)));
        put(writer, (char)(0x80 | (code & 0x3F)));
    } else if (code < 0x10000) {
        put(writer, (char)(0xE0 | (code >> 12)));
        put(writer, (char)(0x80 | ((code >> 6) & 0x3F)));
        put(writer, (char)(0x80 | (code & 0x3F)));
    } else {
        put(writer, (char)(0xF0 | ((code >> 18) & 0x07)));
        put(writer, (char)(0x80 | ((code >> 12) & 0x3F)));
        put(writer, (char)(0x80 | ((code >> 6) & 0x3F)));
        put(writer, (char)(0x80 | (code & 0x3F)));
    }
    return code <= 0x10FFFF;
}

/* What stands behind a backslash (YAML 1.2.2, 5.7). */
static bool take_escape(struct writer *writer)
{
    static const char names[] = "0abt\tnvfre \"/\\N_LP";
    static const char *const texts[] = {
        NULL,   "\a", "\b", "\t", "\t", "\n",       "\v",       "\f",           "\r",
        "\x1B", " ",  "\"", "/",  "\\", "\xC2\x85", "\xC2\xA0", "\xE2\x80\xA8", "\xE2\x80\xA9"};
    if (writer->at == writer->end) {
        return false;
    }
    const char name = *writer->at++;
    if (name == 'x' || name == 'u' || name == 'U') {
        return take_code(writer, name == 'x' ? 2 : name == 'u' ? 4 : 8);
    }
    const char *known = memchr(names, name, sizeof names - 1);
    if (!known) {
        return false;
    }
    if (name == '0') {
        put(writer, '\0');
        return true;
    }
    for (const char *c = texts[known - names]; *c; c++) {
        put(writer, *c);
    }
    return true;
}

bool scalar_double(const char *raw, size_t length, char text[], size_t *made)
{
    struct writer writer = {raw, raw + length, text, 0, 0};
    while (writer.at < writer.end) {
        const char c = *writer.at;
        if (c == '\n') {
            fold_break(&writer, false);
        } else if (c != '\\') {
            put(&writer, c);
            writer.at++;
        } else if (writer.at + 1 < writer.end && writer.at[1] == '\n') {
            writer.at++;
            fold_break(&writer, true);
        } else {
            writer.at++;
            if (!take_escape(&writer)) {
                return false;
            }
            writer.solid = writer.length;
        }
    }
    text[writer.length] = '\0';
    *made = writer.length;
    return true;
}

/* --- folded --- */

static size_t count_blanks(const char *at, const char *end)
{
    const char *start = at;
    while (at < end && *at == ' ') {
        at++;
    }
    return (size_t)(at - start);
}

/* How far in the text stands: what libfyaml took away from its first line with something in it,
 * `read`. */
static size_t find_indent(const char *raw, const char *end, const char *read)
{
    const char *line = raw;
    size_t blanks = count_blanks(line, end);
    while (line + blanks < end && line[blanks] == '\n') {
        line += blanks + 1;
        blanks = count_blanks(line, end);
    }
    const size_t rest = strspn(read, " ");
    return blanks > rest ? blanks - rest : 0;
}

/* The breaks between two lines: of texts one is a blank; beside a line that stands further in, as
 * many as there are. */
static void put_breaks(struct writer *writer, size_t breaks, bool is_first, bool is_kept)
{
    if (breaks == 1 && !is_first && !is_kept) {
        put(writer, ' ');
        return;
    }
    for (size_t i = is_first || is_kept ? 0 : 1; i < breaks; i++) {
        put(writer, '\n');
    }
}

size_t scalar_folded(const char *raw, size_t length, const char *read, char text[])
{
    struct writer writer = {raw, raw + length, text, 0, 0};
    const size_t empties = strspn(read, "\n");
    if (read[empties] == '\0') {
        memcpy(text, read, empties + 1); /* nothing in it to be folded */
        return empties;
    }
    const size_t indent = find_indent(raw, writer.end, read + empties);
    size_t breaks = 0;
    bool is_first = true;
    bool was_in = false;
    while (writer.at < writer.end) {
        const size_t blanks = count_blanks(writer.at, writer.end);
        writer.at += blanks < indent ? blanks : indent;
        const char *stop = writer.at;
        while (stop < writer.end && *stop != '\n') {
            stop++;
        }
        if (stop > writer.at) {
            const bool is_in = is_white(*writer.at);
            put_breaks(&writer, breaks, is_first, is_in || was_in);
            memcpy(text + writer.length, writer.at, (size_t)(stop - writer.at));
            writer.length += (size_t)(stop - writer.at);
            breaks = 0;
            is_first = false;
            was_in = is_in;
        }
        breaks++;
        writer.at = stop + (stop < writer.end);
    }
    const char *last = read + strlen(read);
    while (last > read && last[-1] == '\n') {
        last--;
    }
    for (; *last; last++) {
        put(&writer, *last);
    }
    text[writer.length] = '\0';
    return writer.length;
}

bool scalar_has_number(const char *file, const char *raw)
{
    const char *end = raw > file ? raw - 1 : raw;
    const char *at = end;
    while (at > file && at[-1] != '\n') {
        at--;
    }
    for (; at < end; at++) {
        bool has_number = false;
        const char *sign = at + 1;
        for (; sign < end && strchr("+-123456789", *sign); sign++) {
            has_number |= *sign >= '1';
        }
        const char *behind = sign;
        while (behind < end && is_white(*behind)) {
            behind++;
        }
        if ((*at == '|' || *at == '>') && (behind == end || (behind > sign && *behind == '#'))) {
            return has_number;
        }
    }
    return false;
}
