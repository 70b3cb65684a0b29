/* JSON: writes documents of RFC 8259. Numbers are full (17 digits: the same double comes back);
 * NAN and infinities, which JSON does not have, become null. Bytes that are not UTF-8 become
 * U+FFFD. */
#ifndef IO_RESULTS_JSON_H
#define IO_RESULTS_JSON_H

#include "io/results/sheet.h"

#include <stdio.h>

enum { JSON_DEPTH_MAX = 31 };

struct json {
    FILE *out; /* borrowed */
    int depth;
    bool has_one[JSON_DEPTH_MAX + 1]; /* by depth: a comma is due */
    bool after_key;
};

void json_start(struct json *json, FILE *out);

/* Objects and arrays; a key goes before each value inside an object. */
void json_open_object(struct json *json);
void json_close_object(struct json *json);
void json_open_array(struct json *json);
void json_close_array(struct json *json);
void json_key(struct json *json, const char *key);

void json_text(struct json *json, const char *text); /* NULL: null */
void json_number(struct json *json, double number);
void json_truth(struct json *json, bool is_true);

/* {"attributes": {...}, "fields": {name: {"units", "long_name", "dimensions", "values"}}} */
void json_sheet(struct json *json, const struct sheet *sheet);

#endif
