# What pictures of several panels over one time axis share; loaded after look.gp.

# "head lift-1 [m]" -> "lift-1"
name(text) = (strstrt(text, " [") > 0 ? text[strstrt(text, " ") + 1 : strstrt(text, " [") - 1] : text[strstrt(text, " ") + 1 : *])
short(text) = strlen(text) > 20 ? text[1 : 19] . "~" : text

# A round step, 1, 2 or 5 times a power of ten, that gives a low panel three marks or so.
raw(range) = range > 0 ? range / 3.0 : 1.0
power(range) = 10.0 ** floor(log10(raw(range)))
step(range) = power(range) * (raw(range) < 1.5 * power(range) ? 1 : raw(range) < 3.5 * power(range) ? 2 : raw(range) < 7.5 * power(range) ? 5 : 10)

# One panel from `low` to `high` (shares of the picture's height), its words `what` at its left, its
# key at its right.
panel = 'set tmargin at screen high; set bmargin at screen low; ' . \
        'set key font ",11" at screen 0.785, screen high left top Left reverse samplen 4 spacing 1.2; ' . \
        'set label 1 what at screen 0.022, screen 0.5 * (low + high) center rotate by 90'
