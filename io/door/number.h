/* Number: a decimal number at the head of a text, nothing cleverer: no hexadecimal, no "nan", no
 * "inf", no comma. */
#ifndef IO_DOOR_NUMBER_H
#define IO_DOOR_NUMBER_H

/* The character after the number that `text` begins with (blanks before it are skipped), or NULL
 * when it begins with none or the number is not finite. */
const char *number_read(const char *text, double *value);

#endif
