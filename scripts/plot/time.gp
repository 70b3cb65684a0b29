# What gauges saw over time: heads, and the flow past those that stand in a run. Where a gauge swings
# faster than can be drawn, its highest and lowest values are, with a pale band between them.
# By hand:
#   downsurge show site.h5 /surge/head > head.txt
#   downsurge show site.h5 /surge/flow > flow.txt
#   gnuplot -c scripts/plot/time.gp head.txt flow.txt time.svg svg "After the stop"
# A trace measured at a gauge is drawn as points over the lines; its file and its gauge come last:
#   downsurge show site.h5 /surge/measured_head > measured.txt
#   gnuplot -c scripts/plot/time.gp head.txt flow.txt time.svg svg "After the stop" measured.txt header
# Columns of the data: time [s], then one for each gauge, m and m3/s; the first line names them.
heads = ARG1
flows = ARG2
output = ARG3
format = ARG4 eq "" ? "svg" : ARG4
heading = ARG5
measured = ARG6
gauge = ARG7
here = substr(ARG0, 1, strlen(ARG0) - strlen("time.gp"))
load here . "look.gp"
load here . "panels.gp"

stats heads using 1 every ::1 name "time" nooutput
stats heads every ::1 name "head" nooutput
gauges = head_columns - 1
# A gauge at a point where runs meet has no one flow: its column holds no number.
array has_flow[gauges + 1]
most = -1e30
least = 1e30
do for [i = 2 : gauges + 1] {
    undefine through_*
    stats flows using (1000 * column(i)) every ::1 name "through" nooutput
    has_flow[i] = exists("through_records") ? through_records > 0 : 0
    if (has_flow[i]) {
        most = through_max > most ? through_max : most
        least = through_min < least ? through_min : least
    }
}
any_flow = most > -1e29
# Of a long trace not every point is drawn: some 300 fill the picture.
every_nth = 1
dots_draw = ""
if (strlen(measured) > 0) {
    dots_draw = ', measured using 1:2 every every_nth::1 with points pointtype 6 pointsize 0.22 linecolor rgb black title short("measured " . gauge)'
    stats measured using 1 every ::1 name "trace" nooutput
    every_nth = trace_records > 300 ? int(ceil(trace_records / 300.0)) : 1
}
# A line of many waves is drawn finer, so that its dashes do not close up.
wide = gauges > 2 ? 1.5 : 2.0

# Bands of the heads, then of the flows.
lines = 2 * gauges
@swings_room
source = heads
scale = 1
top = -1e30
bottom = 1e30
do for [i = 2 : gauges + 1] {
    stats heads using i every ::1 name "one" nooutput
    top = one_max > top ? one_max : top
    bottom = one_min < bottom ? one_min : bottom
}
seen = 0.01 * (top - bottom)
do for [k = 1 : gauges] { i = k + 1; type = k; @swings_look }
head_draw = swings_draw
head_key = swings_key
swings_draw = ""
swings_key = ""
source = flows
scale = 1000
seen = 0.01 * (most - least)
do for [k = gauges + 1 : 2 * gauges] { type = k - gauges; i = type + 1; if (has_flow[i]) { @swings_look } }

set multiplot
set lmargin at screen 0.095
set rmargin at screen 0.77
set xrange [time_min:time_max]
set label 2 heading at screen 0.4325, screen 0.965 center
set xzeroaxis linetype 1 linecolor rgb "#777777" linewidth 0.8 dashtype solid

high = 0.93
low = any_flow ? 0.44 : 0.12
what = "head at gauge [m]"
@panel
if (any_flow) { set format x "" } else { set xlabel "time [s]" }
plot @head_draw for [k = 1 : gauges] heads using 1:(is_band(k, $1) ? NaN : column(k + 1)) with lines linetype k linewidth wide title short(name(columnhead(k + 1))) \
     @head_key @dots_draw
unset label 2

if (any_flow) {
    high = 0.38
    low = 0.12
    what = "flow there [L/s]"
    @panel
    set ytics nomirror step(most - least)
    set offsets 0, 0, graph 0.1, graph 0.1
    set format x "%g"
    set xlabel "time [s]"
    plot @swings_draw for [k = 1 : gauges] flows using 1:(has_flow[k + 1] && !is_band(gauges + k, $1) ? 1000 * column(k + 1) : NaN) with lines linetype k linewidth wide title (has_flow[k + 1] ? short(name(columnhead(k + 1))) : "") @swings_key
}
unset multiplot
unset output
