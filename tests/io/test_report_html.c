/* What may stand in a page: HTML Standard (WHATWG), section 13.3 on escaping; RFC 3629, section 3,
 * on bytes that are no UTF-8. */
#include "io/report/html.h"
#include "io/report/svg.h"

#include <criterion/criterion.h>
#include <criterion/new/assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What a call wrote; the caller frees it. */
static char *text_of(const char *text)
{
    char *got = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&got, &size);
    html_text(out, text);
    (void)fclose(out);
    return got;
}

static char *number_of(double number, int decimals)
{
    char *got = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&got, &size);
    html_number(out, number, decimals);
    (void)fclose(out);
    return got;
}

static char *svg_of(const char *text, bool *is_put)
{
    char *got = NULL;
    size_t size = 0;
    const struct svg_words words = {7, "a <b>", "what \"it\" shows"};
    FILE *out = open_memstream(&got, &size);
    *is_put = svg_put(out, text, &words);
    (void)fclose(out);
    return got;
}

Test(report_html, escapes_all_that_has_a_meaning)
{
    char *got = text_of("<a href=\"x\">'&amp;'");
    cr_assert(eq(str, got, "&lt;a href=&quot;x&quot;&gt;&#39;&amp;amp;&#39;"));
    free(got);
}

Test(report_html, replaces_bytes_that_are_no_character)
{
    /* a stray byte, "/" written too long (RFC 3629, section 10), a control character */
    char *got = text_of("a\x80z\xC0\xAF\x01 \xC3\xA9");
    cr_assert(eq(str, got, "a\xEF\xBF\xBDz\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD \xC3\xA9"));
    free(got);
}

Test(report_html, writes_numbers_with_a_true_minus_and_no_negative_zero)
{
    char *minus = number_of(-2.5, 2);
    char *nothing = number_of(-0.001, 2);
    char *unknown = number_of((double)NAN, 2);
    cr_assert(eq(str, minus,
                 "\xE2\x88\x92"
                 "2.50"));
    cr_assert(eq(str, nothing, "0.00"));
    cr_assert(strstr(unknown, "not known") != NULL);
    free(minus);
    free(nothing);
    free(unknown);
}

Test(report_svg, keeps_shapes_and_makes_ids_its_own)
{
    bool is_put = false;
    char *got = svg_of("<?xml version='1.0'?><svg width='9' viewBox='0 0 9 9'><defs><circle "
                       "id='dot' r='1'/></defs><g id=\"all\"><use xlink:href='#dot' x='2'/>"
                       "<path d=\"M0,0 L1,1\" filter='url(#soft)'/></g></svg>",
                       &is_put);
    cr_assert(is_put);
    cr_assert(strstr(got, "viewBox=\"0 0 9 9\"") != NULL);
    cr_assert(strstr(got, "a &lt;b&gt;</title>") != NULL);
    cr_assert(strstr(got, "<circle id=\"picture-7-dot\" r=\"1\"/>") != NULL);
    cr_assert(strstr(got, "<use href=\"#picture-7-dot\" x=\"2\"/>") != NULL);
    cr_assert(strstr(got, "filter=\"url(#picture-7-soft)\"") != NULL);
    cr_assert(strstr(got, "</g></svg>") != NULL);
    free(got);
}

Test(report_svg, leaves_out_all_that_acts_or_reaches_outside)
{
    static const char *const hostile[] = {"<script", "alert", "onload", "example", "foreign",
                                          "style",   "image", "<!",     "<a"};
    bool is_put = false;
    char *got = svg_of("<svg viewBox='0 0 9 9' onload='alert(1)'><!-- <script> --><script>alert(2)"
                       "</script><style>*{}</style><a href='https://example.org'><text x='1' "
                       "onload='alert(3)'>words</text></a><image href='https://example.org/i'/>"
                       "<use href='https://example.org/u'/><g fill='url(https://example.org)'/>"
                       "<foreignObject><b>x</b></foreignObject><rect width='1'/></svg>",
                       &is_put);
    cr_assert(is_put);
    for (size_t i = 0; i < sizeof hostile / sizeof hostile[0]; i++) {
        cr_assert(strstr(got, hostile[i]) == NULL, "'%s' came through: %s", hostile[i], got);
    }
    cr_assert(strstr(got, "<rect width=\"1\"/>") != NULL);
    free(got);
}

Test(report_svg, refuses_what_is_no_picture)
{
    static const char *const bad[] = {"",
                                      "<svg",
                                      "<svg>",
                                      "<svg viewBox=\"0 0 9 x\">",
                                      "<p viewBox=\"0 0 9 9\">",
                                      "<svg viewBox=\"0 0 9"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        bool is_put = true;
        char *got = svg_of(bad[i], &is_put);
        cr_assert(not(is_put), "'%s' was taken for a picture", bad[i]);
        cr_assert(eq(str, got, ""));
        free(got);
    }
}
