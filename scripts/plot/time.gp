# What gauges and non-return valves did over time: heads, opening, flow.
# By hand:
#   downsurge show site.h5 /surge/head > head.txt
#   downsurge show site.h5 /surge/opening > opening.txt
#   downsurge show site.h5 /surge/valve_flow > flow.txt
#   gnuplot -c scripts/plot/time.gp head.txt opening.txt flow.txt time.svg svg "After the stop"
# A trace measured at a gauge is drawn as points over the lines; its file and its gauge come last:
#   downsurge show site.h5 /surge/measured_head > measured.txt
#   gnuplot -c scripts/plot/time.gp head.txt opening.txt flow.txt time.svg svg "After the stop" measured.txt header
# Columns of the data: time [s], then one for each gauge or valve; the first line names them.
heads = ARG1
openings = ARG2
flows = ARG3
output = ARG4
format = ARG5 eq "" ? "svg" : ARG5
heading = ARG6
measured = ARG7
load substr(ARG0, 1, strlen(ARG0) - strlen("time.gp")) . "look.gp"

# "head lift-1 [m]" -> "lift-1"
name(text) = (strstrt(text, " [") > 0 ? text[strstrt(text, " ") + 1 : strstrt(text, " [") - 1] : text[strstrt(text, " ") + 1 : *])

short(text) = strlen(text) > 20 ? text[1 : 19] . "~" : text
# A round step, 1, 2 or 5 times a power of ten, that gives a low panel three marks or so.
raw(range) = range > 0 ? range / 3.0 : 1.0
power(range) = 10.0 ** floor(log10(raw(range)))
step(range) = power(range) * (raw(range) < 1.5 * power(range) ? 1 : raw(range) < 3.5 * power(range) ? 2 : raw(range) < 7.5 * power(range) ? 5 : 10)

stats heads using 1 every ::1 name "time" nooutput
stats heads every ::1 name "head" nooutput
stats openings every ::1 name "open" nooutput
# Of a long trace not every point is drawn: some 300 fill the picture.
every_nth = 1
if (strlen(measured) > 0) {
    stats measured using 1 every ::1 name "trace" nooutput
    every_nth = trace_records > 300 ? int(ceil(trace_records / 300.0)) : 1
}
gauges = head_columns - 1
valves = open_columns - 1
panels = (gauges > 0) + 2 * (valves > 0)

# One panel from `low` to `high` (shares of the picture's height), its words at its left, its key at
# its right.
panel = 'set tmargin at screen high; set bmargin at screen low; ' . \
        'set key font ",11" at screen 0.785, screen high left top Left reverse samplen 3 spacing 1.2; ' . \
        'set label 1 what at screen 0.022, screen 0.5 * (low + high) center rotate by 90'

set multiplot
set lmargin at screen 0.095
set rmargin at screen 0.77
set xrange [time_min:time_max]
set format x ""
set label 2 heading at screen 0.4325, screen 0.965 center
set xzeroaxis linetype 1 linecolor rgb "#777777" linewidth 0.8 dashtype solid

if (gauges > 0) {
    high = 0.93
    low = valves > 0 ? 0.545 : 0.12
    what = "head at gauge [m]"
    @panel
    if (valves == 0) { set format x "%g"; set xlabel "time [s]" }
    if (strlen(measured) > 0) {
        plot for [i = 2 : gauges + 1] heads using 1:i with lines linetype i - 1 title short(name(columnhead(i))), \
             measured using 1:2 every every_nth::1 with points pointtype 6 pointsize 0.4 linecolor rgb "#000000" title short("measured " . ARG8)
    } else {
        plot for [i = 2 : gauges + 1] heads using 1:i with lines linetype i - 1 title short(name(columnhead(i)))
    }
    unset label 2
}
if (valves > 0) {
    high = 0.50
    low = 0.345
    what = "open [%]"
    @panel
    set yrange [-5:105]
    set ytics 50
    plot for [i = 2 : valves + 1] openings using 1:(100 * column(i)) with lines linetype i - 1 title short(name(columnhead(i)))
    unset label 2
    high = 0.30
    low = 0.12
    what = "flow [L/s]"
    @panel
    set autoscale y
    set ytics autofreq
    most = -1e30
    least = 1e30
    do for [i = 2 : valves + 1] {
        stats flows using (1000 * column(i)) every ::1 name "through" nooutput
        most = through_max > most ? through_max : most
        least = through_min < least ? through_min : least
    }
    set ytics step(most - least)
    set offsets 0, 0, graph 0.1, graph 0.1
    set format x "%g"
    set xlabel "time [s]"
    unset key
    plot for [i = 2 : valves + 1] flows using 1:(1000 * column(i)) with lines linetype i - 1 notitle
}
unset multiplot
unset output
