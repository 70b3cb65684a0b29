# What a pump gives and what the site asks of it, with the duty point.
# By hand:
#   downsurge show site.h5 /steady/curves/lift-1 > pump.txt
#   gnuplot -c scripts/plot/pump.gp pump.txt pump.svg svg "Pump lift-1"
# The same with every candidate for a valve in its run, and below it the head each takes:
#   downsurge show site.h5 "/choose/curves/pond delivery" > place.txt
#   gnuplot -c scripts/plot/pump.gp place.txt place.svg svg "Valves for pond delivery"
# Marks: where each works in the best set it is part of; the lines keep the other valves as they are.
# The data: first rows of flow [m3/s], head the pump adds, head the site asks, head each candidate
# takes [m]; after two empty lines the duty point (name, flow, head), or the candidates by rank (name,
# rank, flow, head it takes, head the pump adds), the suitable ones first.
data = ARG1
output = ARG2
format = ARG3 eq "" ? "svg" : ARG3
heading = ARG4
here = substr(ARG0, 1, strlen(ARG0) - strlen("pump.gp"))
load here . "look.gp"
load here . "panels.gp"

stats data index 0 using 1 every ::1 name "flow" nooutput
candidates = flow_columns - 3
stats data index 0 using (valid(2) ? $2 : NaN) every ::1 name "pump" nooutput
has_pump = exists("pump_records") ? pump_records > 0 : 0
most = 1000 * flow_max

# "valve_head swing flap DN50 [m]" -> "swing flap DN50"
valve(text) = strlen(name(text)) > 26 ? substr(name(text), 1, 25) . "~" : name(text)

if (candidates == 0) {
    stats data index 1 using 2 every ::1 name "duty" nooutput
    stats data index 1 using 3 every ::1 name "duty_head" nooutput
    set title heading
    set xlabel "flow [L/s]"
    set ylabel "head [m]"
    set xrange [0:most]
    set yrange [0:*]
    set grid xtics ytics
    set key outside right top
    plot data index 0 using (1000 * $1):2 every ::1 with lines linetype 1 title "the pump gives", \
         data index 0 using (1000 * $1):3 every ::1 with lines linetype 2 title "the site asks", \
         data index 1 using (1000 * $2):3 every ::1 with points linetype 7 pointtype 7 pointsize 0.89 title "duty point", \
         keyentry with lines linecolor rgb "white" title sprintf("%.2f L/s, %.1f m", 1000 * duty_min, duty_head_min)
} else {
    # The six best in lines of their own; the other ranked ones grey, the rest thin and dotted.
    stats data index 1 using ($2 > 0 ? $2 : NaN) every ::1 name "good" nooutput
    good = exists("good_records") ? int(good_records) : 0
    named = good < 6 ? good : 6
    # The scale of the lower panel follows the suitable ones, where they are used.
    tallest = 0
    do for [i = 1 : candidates] {
        stats data index 1 using 4 every ::i::i name "head" nooutput
        # Nothing where no water flows and no head is taken.
        if (exists("head_max") && (i <= good || good == 0)) { tallest = head_max > tallest ? head_max : tallest }
    }
    set multiplot
    set lmargin at screen 0.095
    set rmargin at screen 0.71
    key_left = 0.725
    set xrange [0:most]
    set grid xtics ytics
    set label 2 heading at screen 0.4025, screen 0.965 center
    if (has_pump) {
        high = 0.93; low = 0.52; what = "head [m]"
        @panel
        set key at screen key_left, screen high
        set format x ""
        set yrange [0:*]
        plot data index 0 using (1000 * $1):2 every ::1 with lines linetype 7 dashtype solid title "the pump gives", \
             data index 0 using (1000 * $1):3 every ::1 with lines linetype 8 title "asked, no valve here", \
             for [i = 1 : named] data index 0 using (1000 * $1):(column(3) + column(3 + i)) every ::1 with lines linetype i notitle, \
             for [i = 1 : named] data index 1 using (1000 * $3):5 every ::i::i with points linetype i pointsize 0.67 notitle
        unset label 2
        high = 0.46
    } else {
        high = 0.93
    }
    low = 0.12; what = "valve takes [m]"
    @panel
    set key at screen key_left, screen high
    set format x "%g"
    set xlabel "flow [L/s]"
    set yrange [0:2.2 * (tallest > 0 ? tallest : 1)]
    set ytics nomirror step(2.2 * (tallest > 0 ? tallest : 1))
    plot for [i = good + 1 : candidates] data index 0 using (1000 * $1):(column(3 + i)) every ::1 with lines linecolor rgb grey linewidth 0.7 dashtype 3 notitle, \
         for [i = named + 1 : good] data index 0 using (1000 * $1):(column(3 + i)) every ::1 with lines linecolor rgb grey linewidth 1.2 dashtype 1 notitle, \
         for [i = 1 : named] data index 0 using (1000 * $1):(column(3 + i)) with lines linetype i title valve(columnhead(3 + i)), \
         for [i = 1 : named] data index 1 using (1000 * $3):4 every ::i::i with points linetype i pointsize 0.67 notitle, \
         NaN with lines linecolor rgb grey linewidth 1.2 dashtype 1 title (good > named ? "others ranked" : ""), \
         NaN with lines linecolor rgb grey linewidth 0.7 dashtype 3 title (candidates > good ? "unsuitable or unranked" : ""), \
         NaN with points linecolor rgb black pointtype 7 title "duty in its best set"
    unset multiplot
}
unset output
