/* The text goes through libfyaml's events, not its documents: so nothing is built that a limit
 * would then refuse, and the library's own messages are collected, never printed. Invariant while
 * building: `open[0 .. depth)` are the maps and lists not yet closed; `last[]` their last child. */
#include "io/door/tree.h"

#include "io/door/file.h"
#include "io/door/scalar.h"

#include <assert.h>
#include <libfyaml.h>
#include <stdlib.h>
#include <string.h>

enum { BRACKETS_MOST = 10000 };

struct builder {
    const char *file;
    const char *text; /* what libfyaml is given; places in it are counted from here */
    size_t size;
    struct arena *arena;
    struct faults *faults;
    struct fy_token_iter *chunks; /* what the text of one scalar is put together from */
    struct tree *root;
    int node_count;
    int depth;
    int document_count;
    struct tree *open[TREE_DEEPEST + 1];
    struct tree *last[TREE_DEEPEST + 1];
    const char *key; /* waiting for its value in the innermost map, or NULL */
    struct place key_place;
    struct place place; /* of the event at hand, or the last one that had a place */
};

const char *tree_kind_name(enum tree_kind kind)
{
    static const char *const names[] = {"a text", "a list", "a map"};
    return names[kind];
}

const struct tree *tree_find(const struct tree *map, const char *key)
{
    for (const struct tree *child = map ? map->first : NULL; child; child = child->next) {
        if (child->key && strcmp(child->key, key) == 0) {
            return child;
        }
    }
    return NULL;
}

static bool refuse(struct builder *builder, const char *what)
{
    return faults_add(builder->faults, FAULT_ERROR, builder->place, "%s", what);
}

static struct tree *add_node(struct builder *builder, enum tree_kind kind)
{
    if (builder->node_count++ >= TREE_NODES_MOST) {
        (void)refuse(builder, "more parts than a case file may have; put long rows into tables");
        return NULL;
    }
    struct tree *node = arena_take(builder->arena, 1, sizeof *node);
    if (!node) {
        (void)faults_add_memory(builder->faults, "the case file");
        return NULL;
    }
    node->kind = kind;
    node->place = builder->place;
    node->text = "";
    node->key = builder->key;
    node->key_place = builder->key_place;
    builder->key = NULL;
    if (builder->depth == 0) {
        builder->root = node;
        return node;
    }
    struct tree *parent = builder->open[builder->depth - 1];
    if (builder->last[builder->depth - 1]) {
        builder->last[builder->depth - 1]->next = node;
    } else {
        parent->first = node;
    }
    builder->last[builder->depth - 1] = node;
    parent->count++;
    return node;
}

static bool is_waiting_for_key(const struct builder *builder)
{
    return builder->depth > 0 && builder->open[builder->depth - 1]->kind == TREE_MAP &&
           !builder->key;
}

static bool open_node(struct builder *builder, enum tree_kind kind)
{
    if (is_waiting_for_key(builder)) {
        return refuse(builder, "a key must be a plain word, not a list or a map");
    }
    if (builder->depth >= TREE_DEEPEST) {
        return refuse(builder, "maps and lists stand deeper in one another than a case needs");
    }
    struct tree *node = add_node(builder, kind);
    if (!node) {
        return false;
    }
    builder->open[builder->depth] = node;
    builder->last[builder->depth] = NULL;
    builder->depth++;
    return true;
}

/* Hands the text of a scalar to `copy`, or only counts it if that is NULL. False: it is none. */
static bool copy_chunks(struct builder *builder, struct fy_token *token, char *copy, size_t *length)
{
    const struct fy_iter_chunk *chunk = NULL;
    int error = 0;
    *length = 0;
    fy_token_iter_start(token, builder->chunks);
    while ((chunk = fy_token_iter_chunk_next(builder->chunks, chunk, &error)) != NULL) {
        if (copy) {
            memcpy(copy + *length, chunk->str, chunk->len);
        }
        *length += chunk->len;
    }
    fy_token_iter_finish(builder->chunks);
    return error == 0;
}

/* The text of a scalar in quotes or folded, of which libfyaml made `read`; NULL: told. */
static char *read_again(struct builder *builder, struct fy_token *token, enum fy_scalar_style style,
                        const char *read, size_t *length)
{
    const struct fy_mark *start = fy_token_start_mark(token);
    const struct fy_mark *end = fy_token_end_mark(token);
    assert(start && end && start->input_pos <= end->input_pos && end->input_pos <= builder->size);
    const char *raw = builder->text + start->input_pos;
    const size_t size = end->input_pos - start->input_pos;
    char *copy = arena_take(builder->arena, SCALAR_GROWTH * size + *length + 1, 1);
    if (!copy) {
        (void)faults_add_memory(builder->faults, "a text of the case file");
        return NULL;
    }
    if (style == FYSS_SINGLE_QUOTED) {
        *length = scalar_single(raw, size, copy);
    } else if (style == FYSS_FOLDED) {
        *length = scalar_folded(raw, size, read, copy);
    } else if (!scalar_double(raw, size, copy, length)) {
        (void)refuse(builder,
                     "this text is not YAML: a backslash stands before what has no meaning");
        return NULL;
    }
    return copy;
}

/* The text of a scalar; NULL: told. Not by fy_token_get_text: libfyaml 0.7.12 reckons the length of
 * a text of several lines apart from the text (wrongly at an empty "|"), and then hands out bytes
 * never set, or loses memory. */
static const char *copy_scalar(struct builder *builder, struct fy_token *token)
{
    size_t length = 0;
    if (!token) {
        return "";
    }
    const enum fy_scalar_style style = fy_token_scalar_style(token);
    if ((style == FYSS_LITERAL || style == FYSS_FOLDED) &&
        scalar_has_number(builder->text, builder->text + fy_token_start_mark(token)->input_pos)) {
        (void)refuse(builder,
                     "a number behind '|' or '>' is not used in case files; leave it out, or "
                     "put the text in double quotes, with \\n where a line ends");
        return NULL;
    }
    bool is_whole = copy_chunks(builder, token, NULL, &length);
    char *copy = arena_take(builder->arena, length + 1, 1);
    if (!copy) {
        (void)faults_add_memory(builder->faults, "a text of the case file");
        return NULL;
    }
    is_whole = is_whole && copy_chunks(builder, token, copy, &length);
    if (!is_whole) {
        (void)refuse(builder, "this text is not YAML");
        return NULL;
    }
    if (style == FYSS_SINGLE_QUOTED || style == FYSS_DOUBLE_QUOTED || style == FYSS_FOLDED) {
        copy = read_again(builder, token, style, copy, &length);
        if (!copy) {
            return NULL;
        }
    }
    struct failure failure;
    /* Once more: "\e" in a quoted text is a control character only now. */
    if (!text_check(builder->file, copy, length, &failure)) {
        (void)refuse(builder, failure.message);
        return NULL;
    }
    return copy;
}

static bool take_scalar(struct builder *builder, struct fy_token *token)
{
    const char *copy = copy_scalar(builder, token);
    if (!copy) {
        return false;
    }
    if (is_waiting_for_key(builder)) {
        builder->key = copy;
        builder->key_place = builder->place;
        return true;
    }
    struct tree *node = add_node(builder, TREE_TEXT);
    if (!node) {
        return false;
    }
    node->text = copy;
    return true;
}

static int compare_keys(const void *left, const void *right)
{
    const struct tree *a = *(const struct tree *const *)left;
    const struct tree *b = *(const struct tree *const *)right;
    const int order = strcmp(a->key, b->key);
    if (order != 0) {
        return order;
    }
    return a->key_place.line != b->key_place.line ? a->key_place.line - b->key_place.line
                                                  : a->key_place.column - b->key_place.column;
}

/* Two equal keys: which of the two is meant cannot be known. Reading goes on. */
static bool check_keys(struct builder *builder, const struct tree *map)
{
    const struct tree **sorted =
        arena_take(builder->arena, (size_t)map->count, sizeof(const struct tree *));
    int count = 0;
    if (!sorted) {
        return faults_add_memory(builder->faults, "the keys of a map");
    }
    for (const struct tree *child = map->first; child; child = child->next) {
        sorted[count++] = child;
    }
    if (count > 1) {
        qsort(sorted, (size_t)count, sizeof *sorted, compare_keys);
    }
    for (int i = 1; i < count; i++) {
        if (strcmp(sorted[i]->key, sorted[i - 1]->key) == 0) {
            (void)faults_add(builder->faults, FAULT_ERROR, sorted[i]->key_place,
                             "'%.60s' stands here twice; the first is in line %d", sorted[i]->key,
                             sorted[i - 1]->key_place.line);
        }
    }
    return true;
}

static bool close_node(struct builder *builder)
{
    const struct tree *node = builder->open[--builder->depth];
    assert(node); /* the library closes only what it opened */
    return node->kind != TREE_MAP || check_keys(builder, node);
}

static bool has_extras(const struct fy_event *event)
{
    switch ((int)event->type) {
    case FYET_SCALAR:
        return event->scalar.anchor || event->scalar.tag;
    case FYET_SEQUENCE_START:
        return event->sequence_start.anchor || event->sequence_start.tag;
    case FYET_MAPPING_START:
        return event->mapping_start.anchor || event->mapping_start.tag;
    default:
        return event->type == FYET_ALIAS;
    }
}

static void note_place(struct builder *builder, struct fy_event *event)
{
    const struct fy_mark *mark = fy_event_start_mark(event);
    if (mark) {
        builder->place.line = mark->line + 1;
        builder->place.column = mark->column + 1;
    }
}

/* False: stop. */
static bool take_event(struct builder *builder, struct fy_event *event)
{
    note_place(builder, event);
    if (has_extras(event)) {
        return refuse(builder, "anchors (&), aliases (*) and tags (!) are not used in case files; "
                               "write it out, or put it in quotes");
    }
    switch ((int)event->type) {
    case FYET_DOCUMENT_START:
        builder->document_count++;
        return builder->document_count == 1 ||
               refuse(builder, "a second document begins here; a file holds one case");
    case FYET_MAPPING_START:
        return open_node(builder, TREE_MAP);
    case FYET_SEQUENCE_START:
        return open_node(builder, TREE_LIST);
    case FYET_MAPPING_END:
    case FYET_SEQUENCE_END:
        return close_node(builder);
    case FYET_SCALAR:
        return take_scalar(builder, event->scalar.value);
    default:
        return true;
    }
}

/* What to do about some of the parser's messages, by words of them. */
static const char *remedy_of(const char *message)
{
    static const char *const remedies[][2] = {
        {"used as indentation", "; indent with blanks, not with tabs"},
        {"nested block mapping", "; put a text that has ': ' in it in quotes"},
        {"plain scalar cannot start", "; put the text in quotes"},
        {"multiline plain key", "; look whether ': ' is missing behind a name"},
        {"quoted scalar", "; look whether its quote is closed"}};
    for (size_t i = 0; i < sizeof remedies / sizeof remedies[0]; i++) {
        if (strstr(message, remedies[i][0])) {
            return remedies[i][1];
        }
    }
    return "";
}

static void tell_parser_errors(struct builder *builder, struct fy_diag *diag)
{
    void *iterator = NULL;
    const struct fy_diag_error *error = fy_diag_errors_iterate(diag, &iterator);
    if (!error) {
        (void)refuse(builder, "this is not YAML");
        return;
    }
    /* Only the first: what follows a broken line is guesswork. */
    const struct place place = {builder->file, error->line > 0 ? error->line : 1,
                                error->column > 0 ? error->column : 1};
    (void)faults_add(builder->faults, FAULT_ERROR, place, "not YAML: %.200s%s", error->msg,
                     remedy_of(error->msg));
}

static void run_parser(struct builder *builder, const char *text, size_t size)
{
    struct fy_diag_cfg diag_options;
    fy_diag_cfg_default(&diag_options);
    diag_options.fp = NULL;
    diag_options.level = FYET_ERROR;
    struct fy_diag *diag = fy_diag_create(&diag_options);
    struct fy_parse_cfg options = {.flags = FYPCF_QUIET | FYPCF_COLLECT_DIAG | FYPCF_JSON_NONE |
                                            FYPCF_DEFAULT_VERSION_1_2,
                                   .diag = diag};
    struct fy_parser *parser = NULL;
    if (diag) {
        fy_diag_set_collect_errors(diag, true);
        parser = fy_parser_create(&options);
    }
    builder->chunks = fy_token_iter_create(NULL);
    if (!parser || !builder->chunks || fy_parser_set_string(parser, text, size) != 0) {
        (void)faults_add_memory(builder->faults, "the YAML parser");
        goto done;
    }
    for (bool goes_on = true; goes_on;) {
        struct fy_event *event = fy_parser_parse(parser);
        if (!event) {
            break;
        }
        goes_on = take_event(builder, event);
        fy_parser_event_free(parser, event);
    }
    if (fy_parser_get_stream_error(parser)) {
        tell_parser_errors(builder, diag);
    }
done:
    fy_token_iter_destroy(builder->chunks);
    if (parser) {
        fy_parser_destroy(parser);
    }
    if (diag) {
        fy_diag_destroy(diag);
    }
}

/* The parser holds some 350 bytes for each bracket that is open, before it hands out the first: a
 * case file full of them would take gigabytes. Those in quotes and comments are counted too; nobody
 * leaves so many open there. */
static bool has_bracket_tower(struct builder *builder, const char *text, size_t size)
{
    int open = 0;
    for (size_t i = 0; i < size; i++) {
        open +=
            (text[i] == '[' || text[i] == '{') - (open > 0 && (text[i] == ']' || text[i] == '}'));
        if (open > BRACKETS_MOST) {
            (void)refuse(builder, "maps and lists stand deeper in one another than a case needs");
            return true;
        }
    }
    return false;
}

/* Whether a line from `at` on has a '?' and a blank with nothing before them but marks of lists,
 * keys and their values; *mark: where. */
static bool has_question(const char *text, size_t size, size_t at, size_t *mark)
{
    while (at < size && strchr(" \t-:\xEF\xBB\xBF", text[at])) {
        at++;
    }
    *mark = at;
    return at < size && text[at] == '?' && (at + 1 == size || strchr(" \t\n", text[at + 1]));
}

/* Keys marked by '?', which may be of several lines: libfyaml 0.7.12 crashes on "? a:\t|" when its
 * parser is given back. Lines of texts are looked at too; few begin so. */
static bool has_question_key(struct builder *builder, const char *text, size_t size)
{
    int line = 1;
    for (size_t at = 0; at < size; line++) {
        size_t mark = at;
        if (has_question(text, size, at, &mark)) {
            builder->place = (struct place){builder->file, line, 1 + (int)(mark - at)};
            (void)refuse(builder, "a line of a case file cannot begin with '?' and a blank: name a "
                                  "key without '?', or put other text before it");
            return true;
        }
        const char *end = memchr(text + at, '\n', size - at);
        at = end ? (size_t)(end - text) + 1 : size;
    }
    return false;
}

/* "\r\n" and "\r" are line breaks like "\n" (YAML 1.2.2, 5.4), and made so here: libfyaml 0.7.12
 * would make two of "\r\n" at the end of a text in quotes. NULL: memory ended, told. */
static const char *with_plain_breaks(struct builder *builder, const char *text, size_t *size)
{
    if (!memchr(text, '\r', *size)) {
        return text;
    }
    char *copy = arena_take(builder->arena, *size, 1);
    size_t length = 0;
    if (!copy) {
        (void)faults_add_memory(builder->faults, "the case file");
        return NULL;
    }
    for (size_t i = 0; i < *size; i++) {
        const bool is_told = i > 0 && text[i] == '\n' && text[i - 1] == '\r';
        if (!is_told) {
            copy[length++] = text[i];
        }
        if (text[i] == '\r') {
            copy[length - 1] = '\n';
        }
    }
    *size = length;
    return copy;
}

struct tree *tree_read(const char *file, const char *text, size_t size, struct arena *arena,
                       struct faults *faults)
{
    struct builder builder = {.file = file, .arena = arena, .faults = faults};
    struct failure failure;
    const int before = faults_count(faults, FAULT_ERROR);
    builder.place = (struct place){file, 1, 1};
    if (size > TREE_SIZE_MOST) {
        (void)refuse(&builder, "the case file is too large; put long rows into tables");
        return NULL;
    }
    if (!text_check(file, text, size, &failure)) {
        (void)faults_add_failure(faults, &failure);
        return NULL;
    }
    if (has_bracket_tower(&builder, text, size)) {
        return NULL;
    }
    const char *plain = with_plain_breaks(&builder, text, &size);
    if (!plain || has_question_key(&builder, plain, size)) {
        return NULL;
    }
    builder.text = plain;
    builder.size = size;
    run_parser(&builder, plain, size);
    if (faults_count(faults, FAULT_ERROR) > before &&
        (!builder.root || builder.depth > 0 || builder.document_count > 1)) {
        return NULL;
    }
    if (!builder.root || (builder.root->kind == TREE_TEXT && builder.root->text[0] == '\0')) {
        builder.place = (struct place){file, 1, 1};
        (void)refuse(&builder, "the case file is empty; it needs at least runs: and tanks:");
        return NULL;
    }
    if (builder.root->kind != TREE_MAP) {
        builder.place = builder.root->place;
        (void)refuse(&builder, "a case file is a map of sections, such as 'tanks:' and 'runs:'");
        return NULL;
    }
    return builder.root;
}
