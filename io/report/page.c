#include "io/report/page.h"

#include "io/report/html.h"
#include "io/report/sections.h"
#include "io/report/style.h"
#include "io/version.h"

#include <string.h>

struct section {
    const char *id;
    const char *title;
    bool (*is_there)(const struct material *material); /* NULL: always */
    void (*write)(const struct material *material, FILE *out);
};

static bool has_choose(const struct material *material)
{
    return material->has_choose;
}

static bool has_steady(const struct material *material)
{
    return material->has_steady;
}

static bool has_surge(const struct material *material)
{
    return material->has_surge;
}

static bool has_filling(const struct material *material)
{
    return material->has_filling;
}

static bool has_study(const struct material *material)
{
    return material->has_study;
}

static bool has_failures(const struct material *material)
{
    return material->has_failures;
}

static bool has_findings(const struct material *material)
{
    return material->has_findings;
}

static const struct section sections[] = {
    {"question", "The question", NULL, section_question},
    {"answer", "The answer", NULL, section_answer},
    {"choice", "The choice of valves", has_choose, section_choice},
    {"findings", "Findings and remedies", has_findings, section_findings},
    {"pictures", "Pictures", NULL, section_pictures},
    {"flow", "Flow and pressure", has_steady, section_flow},
    {"surge", "Surge", has_surge, section_surge},
    {"hours", "Hours and days", has_filling, section_filling},
    {"study", "Many variants", has_study, section_study},
    {"failures", "When one thing fails", has_failures, section_failures},
    {"parts", "Parts by run", NULL, section_parts},
    {"assumptions", "Assumptions and placeholders", NULL, section_assumptions},
    {"proof", "Proof and error bands", NULL, section_proof},
    {"cautions", "Cautions", NULL, section_cautions},
    {"checklist", "Questions for the person on site", NULL, section_checklist},
};
enum { SECTION_COUNT = sizeof sections / sizeof sections[0] };

static bool is_shown(const struct section *section, const struct material *material)
{
    return !section->is_there || section->is_there(material);
}

static void put_head(const char *site, FILE *out)
{
    (void)fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                "<meta name=\"color-scheme\" content=\"light dark\">\n"
                "<meta name=\"referrer\" content=\"no-referrer\">\n",
                out);
    html_wrap(out, "<title>", site, ": report</title>\n<style>\n");
    style_write(out);
    (void)fputs("</style>\n</head>\n<body>\n", out);
}

static void put_title(const struct material *material, const char *site, FILE *out)
{
    html_wrap(out, "<header>\n<h1>", site, "</h1>\n");
    html_wrap(out, "<p class=\"quiet\">Report of results made by ",
              material_text(&material->root, "program", "downsurge"), " ");
    html_text(out, material_text(&material->root, "version", ""));
    html_wrap(out, ", put together by downsurge ", program_version(), ".");
    const char *path = material_text(&material->root, "case_file", "not known");
    const char *slash = strrchr(path, '/'); /* where it lay is nobody's business */
    html_wrap(out, " Case file <code>", slash ? slash + 1 : path, "</code>");
    html_wrap(out, ", SHA-256 <code>", material_text(&material->root, "case_sha256", "not known"),
              "</code>.</p>\n</header>\n");
}

static void put_contents(const struct material *material, FILE *out)
{
    (void)fputs("<nav aria-label=\"Contents\">\n<ol>\n", out);
    for (int i = 0; i < SECTION_COUNT; i++) {
        if (is_shown(&sections[i], material)) {
            (void)fprintf(out, "<li><a href=\"#%s\">%s</a></li>\n", sections[i].id,
                          sections[i].title);
        }
    }
    (void)fputs("</ol>\n</nav>\n", out);
}

static void put_signature(FILE *out)
{
    (void)fputs("<footer>\n<p>This page is a computation, no certificate. It counts only when a "
                "person who may do so has checked it and signs.</p>\n"
                "<dl class=\"signature\">\n"
                "<div><dt>Checked by</dt><dd></dd></div>\n"
                "<div><dt>Date</dt><dd></dd></div>\n"
                "<div><dt>Signature</dt><dd></dd></div>\n"
                "</dl>\n</footer>\n</body>\n</html>\n",
                out);
}

void report_write(const struct material *material, FILE *out)
{
    const char *site = material_text(&material->root, "site", NULL);
    site = site && *site ? site : "Site without a name";
    put_head(site, out);
    put_title(material, site, out);
    put_contents(material, out);
    (void)fputs("<main>\n", out);
    for (int i = 0; i < SECTION_COUNT; i++) {
        const struct section *section = &sections[i];
        if (is_shown(section, material)) {
            (void)fprintf(out, "<section aria-labelledby=\"%s\">\n<h2 id=\"%s\">%s</h2>\n",
                          section->id, section->id, section->title);
            section->write(material, out);
            (void)fputs("</section>\n", out);
        }
    }
    (void)fputs("</main>\n", out);
    put_signature(out);
}
