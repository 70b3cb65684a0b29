# The variants of a study in two measures, and those that none beats joined by a line (Pareto's front).
# By hand: two files of lines   x  y  within  front   after a head line, the last two 1 or 0, by rising
# x, the second file with the front alone;
#   gnuplot -c scripts/plot/front.gp dots.txt dots.svg svg "Variants" "flow [L/s]" "slam [m]" front.txt
data = ARG1
output = ARG2
format = ARG3 eq "" ? "svg" : ARG3
heading = ARG4
front = ARG7
load substr(ARG0, 1, strlen(ARG0) - strlen("front.gp")) . "look.gp"

set title heading
set xlabel ARG5
set ylabel ARG6
set grid xtics ytics
set offsets graph 0.05, graph 0.05, graph 0.05, graph 0.05
set key outside bottom center horizontal

# Shapes as well as colours, so that a black-and-white print says the same.
plot data using ($3 == 0 ? $1 : NaN):2 every ::1 with points pointtype 2 pointsize 1.4 linewidth 1.4 linecolor rgb red title "outside a limit", \
     data using ($3 == 1 ? $1 : NaN):2 every ::1 with points pointtype 6 pointsize 1.4 linewidth 1.4 linecolor rgb sky title "within the limits", \
     front using 1:2 every ::1 with linespoints pointtype 7 pointsize 1.4 linewidth 2.2 linecolor rgb blue title "beaten by none"
unset output
