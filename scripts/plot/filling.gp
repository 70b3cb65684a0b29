# A site over its hours: levels with the switching of pumps, what the pumps deliver, when they run,
# and the energy so far.
# By hand:
#   downsurge show site.h5 /filling/level > level.txt
#   downsurge show site.h5 /filling/running > running.txt
#   downsurge show site.h5 /filling/energy_so_far > energy.txt
#   flow.txt: columns time [s] and the flow of each pump, from /filling/flow
#   marks.txt: columns time [s], level [m], 1 for a start and 0 for a stop, from /filling/event_time ...
#   gnuplot -c scripts/plot/filling.gp level.txt flow.txt running.txt energy.txt marks.txt day.svg svg "A day"
# Columns of the data: time [s], then one for each tank or pump; the first line names them.
levels = ARG1
flows = ARG2
runs = ARG3
energies = ARG4
marks = ARG5
output = ARG6
format = ARG7 eq "" ? "svg" : ARG7
heading = ARG8
load substr(ARG0, 1, strlen(ARG0) - strlen("filling.gp")) . "look.gp"

# "level header [m]" -> "header"
name(text) = (strstrt(text, " [") > 0 ? text[strstrt(text, " ") + 1 : strstrt(text, " [") - 1] : text[strstrt(text, " ") + 1 : *])
short(text) = strlen(text) > 20 ? text[1 : 19] . "~" : text

# A round step, 1, 2 or 5 times a power of ten, that gives a low panel three marks or so.
raw(range) = range > 0 ? range / 3.0 : 1.0
power(range) = 10.0 ** floor(log10(raw(range)))
step(range) = power(range) * (raw(range) < 1.5 * power(range) ? 1 : raw(range) < 3.5 * power(range) ? 2 : raw(range) < 7.5 * power(range) ? 5 : 10)

stats levels using 1 every ::1 name "time" nooutput
stats levels every ::1 name "level" nooutput
stats runs every ::1 name "run" nooutput
tanks = level_columns - 1
pumps = run_columns - 1
is_long = time_max > 3 * 86400
unit = is_long ? 86400.0 : 3600.0
word = is_long ? "time [days]" : "time [h]"

# One panel from `low` to `high` (shares of the picture's height), its words at its left, its key at
# its right.
panel = 'set tmargin at screen high; set bmargin at screen low; ' . \
        'set key font ",11" at screen 0.785, screen high left top Left reverse samplen 3 spacing 1.2; ' . \
        'set label 1 what at screen 0.022, screen 0.5 * (low + high) center rotate by 90'

set multiplot
set lmargin at screen 0.095
set rmargin at screen 0.77
set xrange [0:time_max / unit]
if (!is_long) {
    hours = time_max > 30 * 3600 ? 6 : time_max > 10 * 3600 ? 3 : time_max > 3 * 3600 ? 1 : 0.25
    set xtics hours
}
set format x ""
set label 2 heading at screen 0.4325, screen 0.965 center

high = 0.93
low = pumps > 0 ? 0.56 : 0.12
what = "level [m]"
@panel
set offsets 0, 0, graph 0.05, graph 0.05
if (pumps == 0) { set format x "%g"; set xlabel word }
stats marks using 1 every ::1 name "mark" nooutput
has_marks = pumps > 0 && exists("mark_records") && mark_records > 0 && mark_records <= 200
if (has_marks) {
    plot for [i = 2 : tanks + 1] levels using ($1 / unit):i with lines linetype i - 1 title short(name(columnhead(i))), \
         marks using ($1 / unit):($3 > 0.5 ? $2 : NaN) every ::1 with points pointtype 9 pointsize 0.56 linecolor rgb black title "pump starts", \
         marks using ($1 / unit):($3 < 0.5 ? $2 : NaN) every ::1 with points pointtype 10 pointsize 0.56 linecolor rgb black title "pump stops"
} else {
    plot for [i = 2 : tanks + 1] levels using ($1 / unit):i with lines linetype i - 1 title short(name(columnhead(i)))
}
unset label 2

if (pumps > 0) {
    high = 0.52
    low = 0.385
    what = "pump [L/s]"
    @panel
    stats flows every ::1 using (1000 * column(pumps + 1)) name "last" nooutput
    most = last_max
    least = last_min
    do for [i = 2 : pumps] {
        stats flows using (1000 * column(i)) every ::1 name "through" nooutput
        most = through_max > most ? through_max : most
        least = through_min < least ? through_min : least
    }
    # Less than a drop in a day (1e-6 L/s) is round-off: its scale would look like flow.
    is_still = most < 1e-6 && least > -1e-6
    if (is_still) { most = 1 }
    if (least > -1e-6) { least = 0 }
    set ytics nomirror step(most - least)
    if (least < -0.01 * most) { set yrange [*:*] } else { set offsets 0, 0, graph 0.1, 0; set yrange [0:*] }
    if (is_still) { set yrange [0:1] }
    plot for [i = 2 : pumps + 1] flows using ($1 / unit):(1000 * column(i)) with lines linetype i - 1 title short(name(columnhead(i)))

    high = 0.345
    low = 0.27
    what = "runs"
    @panel
    set offsets 0, 0, 0, 0
    set yrange [0.4:pumps + 0.6]
    unset ytics
    set style fill solid 1 noborder # paler fills, or boxes that only touch, would show seams
    unset key
    wide = time_records > 1 ? (time_max - time_min) / (time_records - 1) / unit : 1
    plot for [i = 2 : pumps + 1] runs using ($1 / unit + wide / 2):(column(i) > 0.5 ? pumps + 2 - i : NaN):(0.52 * wide):(0.35) with boxxyerror linetype i - 1 notitle

    high = 0.23
    low = 0.11
    what = "energy [kWh]"
    @panel
    set yrange [*:*] # stats leaves out what lies beyond it
    most = 0
    do for [i = 2 : pumps + 1] {
        stats energies using (column(i) / 3.6e6) every ::1 name "used" nooutput
        most = used_max > most ? used_max : most
    }
    set ytics nomirror out step(most)
    set yrange [0:*]
    set format x "%g"
    set xlabel word
    unset key
    plot for [i = 2 : pumps + 1] energies using ($1 / unit):(column(i) / 3.6e6) with lines linetype i - 1 notitle
}
unset multiplot
unset output
