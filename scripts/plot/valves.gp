# How non-return valves shut: how far each is open, and the velocity of the water in its bore, with a
# mark where it first met its seat (velocity backward, time); drawn until the last has come to rest.
# By hand:
#   downsurge show site.h5 /surge/opening > opening.txt
#   downsurge show site.h5 /surge/valve_velocity > velocity.txt
#   downsurge show site.h5 /surge/shut_time > shut.txt
#   downsurge show site.h5 /surge/first_reverse_velocity > reverse.txt
#   gnuplot -c scripts/plot/valves.gp opening.txt velocity.txt shut.txt reverse.txt valves.svg svg "Valves"
# Columns of the first two: time [s], then one for each valve (share, m/s), named in the first line;
# of the others: a valve, a number, in the same order.
openings = ARG1
velocities = ARG2
shut = ARG3
reverse = ARG4
output = ARG5
format = ARG6 eq "" ? "svg" : ARG6
heading = ARG7
here = substr(ARG0, 1, strlen(ARG0) - strlen("valves.gp"))
load here . "look.gp"
load here . "panels.gp"

stats openings using 1 every ::1 name "time" nooutput
stats openings every ::1 name "open" nooutput
valves = open_columns - 1
array at[valves]
array back[valves]
last = time_min
most = -1e30
least = 1e30
do for [i = 1 : valves] {
    undefine one_*
    stats shut using 2 every ::i::i name "one" nooutput
    at[i] = exists("one_records") ? (one_records > 0 ? one_min : -1) : -1
    undefine one_*
    stats reverse using 2 every ::i::i name "one" nooutput
    back[i] = exists("one_records") ? (one_records > 0 ? one_min : 0) : 0
    stats openings using (column(i + 1)) every ::time_records - 1::time_records name "rest" nooutput
    undefine moving_*
    stats openings using (abs(column(i + 1) - rest_min) > 0.02 ? $1 : NaN) every ::1 name "moving" nooutput
    if (exists("moving_records")) { last = moving_max > last ? moving_max : last }
    stats velocities using (column(i + 1)) every ::1 name "through" nooutput
    most = through_max > most ? through_max : most
    least = through_min < least ? through_min : least
    least = -back[i] < least ? -back[i] : least
}
last = last > time_min ? last + 0.25 * (last - time_min) : time_max
last = last < time_max ? last : time_max

time_max = last
lines = valves
@swings_room
source = velocities
scale = 1
seen = 0.01 * (most - least)
do for [k = 1 : valves] { i = k + 1; type = k; @swings_look }

set multiplot
set lmargin at screen 0.095
set rmargin at screen 0.77
set xrange [time_min:last]
set label 2 heading at screen 0.4325, screen 0.965 center
set xzeroaxis linetype 1 linecolor rgb "#777777" linewidth 0.8 dashtype solid

high = 0.93
low = 0.56
what = "open [%]"
@panel
set format x ""
set yrange [-4:104]
set ytics 25
plot for [i = 2 : valves + 1] openings using 1:(100 * column(i)) with lines linetype i - 1 title short(name(columnhead(i)))
unset label 2

high = 0.50
low = 0.12
what = "velocity in the bore [m/s]"
@panel
set autoscale y
set ytics nomirror step(0.6 * (most - least))
set offsets 0, 0, graph 0.06, graph 0.06
set format x "%g"
set xlabel "time [s]"
set key samplen 1.5
# A mark for each valve that met its seat, and two lines of the key.
marks = ""
do for [i = 1 : valves] {
    if (at[i] >= 0) {
        marks = marks . sprintf(', "+" using (%.9g):(%.9g) every ::::0 with points linetype %d pointsize 0.78 title "first shut at %.2f s,", ' . \
                                'keyentry with lines linecolor rgb "white" title "water back %.3f m/s"', at[i], -back[i], i, at[i], back[i])
    }
}
plot @swings_draw for [i = 2 : valves + 1] velocities using 1:(is_band(i - 1, $1) ? NaN : column(i)) with lines linetype i - 1 notitle @marks @swings_key
unset multiplot
unset output
