#include "io/command/study_keep.h"

#include "io/terminal/interrupt.h"
#include "io/version.h"

#include <string.h>

/* What a fingerprint is made of: the version, then the fingerprint of each file. */
struct print {
    char text[SHA256_TEXT_SIZE]; /* of what was taken so far */
};

static void take(struct print *print, size_t size, const char *bytes)
{
    char both[2 * SHA256_TEXT_SIZE];
    char digest[SHA256_TEXT_SIZE];
    sha256_text(size, bytes, digest);
    (void)snprintf(both, sizeof both, "%s%s", print->text, digest);
    sha256_text(strlen(both), both, print->text);
}

void study_keep_fingerprint(const struct variants *variants, char fingerprint[SHA256_TEXT_SIZE])
{
    struct print print = {.text = ""};
    const char *version = program_version();
    take(&print, strlen(version), version);
    take(&print, strlen(variants->site->text), variants->site->text);
    for (const struct site_file *file = variants->shelf.first; file; file = file->next) {
        take(&print, file->size, file->text);
    }
    memcpy(fingerprint, print.text, SHA256_TEXT_SIZE);
}

bool study_keep_init(struct study_keep *keep, const struct variants *variants,
                     const struct terminal *terminal, const char *output, struct arena *arena,
                     struct failure *failure)
{
    char fingerprint[SHA256_TEXT_SIZE];
    *keep = (struct study_keep){.variants = variants, .arena = arena, .terminal = terminal};
    if (!rows_init(&keep->rows, variants->count, variants->case_study.study.measure_count, arena,
                   failure)) {
        return false;
    }
    if (!output) {
        return true;
    }
    const size_t size = strlen(output) + sizeof ".journal";
    char *path = arena_take(arena, size, 1);
    if (!path) {
        return fail_memory(failure, "the journal of the study");
    }
    (void)snprintf(path, size, "%s.journal", output);
    keep->journal_path = path;
    study_keep_fingerprint(variants, fingerprint);
    keep->journal = study_journal_open(path, fingerprint, &keep->rows, arena, failure);
    keep->found = keep->rows.done_count;
    return keep->journal != NULL;
}

bool study_keep_row(void *user, int variant, const struct row *row)
{
    struct study_keep *keep = user;
    if (keep->journal && !study_journal_add(keep->journal, variant, row, &keep->failure)) {
        return false;
    }
    if (!rows_put(&keep->rows, variant, row, keep->arena, &keep->failure)) {
        return false;
    }
    const int done = keep->rows.done_count - keep->found;
    const int all = keep->rows.count - keep->found;
    (void)progress_tell(&keep->progress, (double)done / (double)all);
    return !interrupt_has_come();
}

void study_keep_clear(struct study_keep *keep, bool is_over)
{
    study_journal_close(keep->journal, is_over);
    keep->journal = NULL;
}
