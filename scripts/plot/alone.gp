# How far each input alone moves one measure from the case as it stands: a bar each, the widest on top.
# By hand: lines of   input  least  greatest   after a head line, text in quotes, the widest first;
#   gnuplot -c scripts/plot/alone.gp alone.txt alone.svg svg "What moves the flow" "flow [L/s]" 3.2
# where the last number is the case as it stands.
data = ARG1
output = ARG2
format = ARG3 eq "" ? "svg" : ARG3
heading = ARG4
measure = ARG5
base = real(ARG6)
load substr(ARG0, 1, strlen(ARG0) - strlen("alone.gp")) . "look.gp"

stats data using 2 every ::1 name "least" nooutput
stats data using 3 every ::1 name "most" nooutput
rows = int(least_records)
low = least_min < base ? least_min : base
high = most_max > base ? most_max : base
room = high > low ? 0.12 * (high - low) : 1

set title heading
set xlabel measure . "\nupright line: the case as it stands"
set xrange [low - room:high + room]
set yrange [rows + 0.5:0.5]
set ytics 1 out scale 0
set grid xtics noytics
set style fill solid 0.85 noborder
unset key
set arrow from base, 0.5 to base, rows + 0.5 nohead front linecolor rgb black linewidth 1.5

# Below the case as it stands blue, above it orange; the ends are told in figures too.
plot data using (base):($0 + 1):yticlabels(1) every ::1 with points pointtype -1, \
     data using (($2 + base) / 2):($0 + 1):(abs(base - $2) / 2):(0.32) every ::1 with boxxyerror linecolor rgb blue, \
     data using (($3 + base) / 2):($0 + 1):(abs($3 - base) / 2):(0.32) every ::1 with boxxyerror linecolor rgb orange, \
     data using 2:($0 + 1):(sprintf("%.4g", $2)) every ::1 with labels right offset -0.7, 0 textcolor rgb black, \
     data using 3:($0 + 1):(sprintf("%.4g", $3)) every ::1 with labels left offset 0.7, 0 textcolor rgb black
unset output
