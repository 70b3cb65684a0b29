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

# Where a value swings faster than can be drawn, its lowest and highest are, with a pale band between
# them. The time is cut into columns about as wide as a line; turns from rising to falling and back are
# counted in each, but for those by less than `seen`. To use: `@swings_room` with `lines` values to look
# at, time_min and time_max known; for the line k (1 to `lines`) in column i of the file `source`, times
# `scale`, set k, i, seen and the line's type, and do `@swings_look`. Then `@swings_draw` stands first in
# the plot command: it draws the bands there are, each in its line's type. is_band(k, t) tells where no
# line is to be drawn: inside a band, but not in its first and last column. `@swings_key` ends the command.
columns = 320
far = 1e30
array turns[columns + 2] # one more on each side
array least_in[columns]
array most_in[columns]
array is_in_band[1]
swings_room = 'array is_in_band[lines * columns]; bands = 0; swings_draw = ""; swings_key = ""; set print $bands; unset print'
bin(t) = (c = int(columns * (t - time_min) / (time_max - time_min)) + 1, c > columns ? columns : c < 1 ? 1 : c)
is_band(k, t) = is_in_band[(k - 1) * columns + bin(t)]
keep(b, v) = (least_in[b] = v < least_in[b] ? v : least_in[b], most_in[b] = v > most_in[b] ? v : most_in[b])
# `turned` is the highest or lowest value since the last turn, `way` whether values rise (1) or fall (-1).
turn(b, v) = way * (v - turned) >= 0 ? (turned = v) : \
             way * (turned - v) > seen ? (way = -way, turned = v, turns[b + 1] = turns[b + 1] + 1) : turned
meet(t, v) = v == v && t <= time_max ? (b = bin(t), keep(b, v), turn(b, v), v) : NaN
# Two turns or more in this column and its neighbours alike: no line can be followed there.
is_wild(b) = turns[b] + turns[b + 1] + turns[b + 2] >= 6 && most_in[b] > -far
is_inside(b) = is_wild(b) && (b == 1 || is_wild(b - 1)) && (b == columns || is_wild(b + 1))
row(b) = sprintf("%.9g %.9g %.9g", time_min + (b - 0.5) * (time_max - time_min) / columns, least_in[b], most_in[b])
swings_look = 'do for [b = 1 : columns] { turns[b + 1] = 0; least_in[b] = far; most_in[b] = -far }; ' . \
              'turns[1] = 2; turns[columns + 2] = 2; way = 1; turned = -far; ' . \
              'stats source using (meet($1, scale * column(i))) every ::1 name "met" nooutput; ' . \
              'wild = 0; do for [b = 1 : columns] { is_in_band[(k - 1) * columns + b] = is_inside(b); wild = wild || is_inside(b) }; ' . \
              'if (wild) { set print $bands append; if (bands > 0) { print ""; print "" }; ' . \
              'do for [b = 1 : columns] { if (is_wild(b)) { print row(b) } else { if (b > 1 && is_wild(b - 1)) { print "" } } }; ' . \
              'unset print; swings_draw = swings_draw . sprintf(band_draw, bands, type, bands, type, bands, type); ' . \
              'swings_key = band_key; bands = bands + 1 }'
band_draw = '$bands index %d using 1:2:3 with filledcurves linetype %d fillstyle transparent solid 0.25 noborder notitle, ' . \
            '$bands index %d using 1:2 with lines linetype %d linewidth 0.8 dashtype solid notitle, ' . \
            '$bands index %d using 1:3 with lines linetype %d linewidth 0.8 dashtype solid notitle, '
band_key = ', keyentry with boxes fillstyle solid 0.25 border linewidth 0.8 dashtype solid linecolor rgb grey title "too fast to draw:", ' . \
           'keyentry with lines linecolor rgb "white" title "lowest to highest"'
