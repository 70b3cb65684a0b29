# How fast the water runs backward as non-return valves shut, by how fast it slows: in metres and
# seconds, and without dimensions.
# By hand: a block for each valve, two empty lines between, its name in quotes first, then lines of
#   slowing [m/s2]  reverse [m/s]  band  seat speed  slowing D/v0^2  reverse/v0
#   gnuplot -c scripts/plot/slam.gp curves.txt slam.svg svg "Velocity backward as the valve shuts"
data = ARG1
output = ARG2
format = ARG3 eq "" ? "svg" : ARG3
heading = ARG4
load substr(ARG0, 1, strlen(ARG0) - strlen("slam.gp")) . "look.gp"

stats data using 1 name "row" nooutput
blocks = int(row_blocks)
set logscale x
set format x "%g"
set yrange [0:*]
set multiplot layout 1, 2 title heading
set key inside left top Left reverse samplen 3
set xlabel "slowing of the water [m/s2]"
set ylabel "velocity backward [m/s]"
plot for [i = 0 : blocks - 1] data index i using 1:2 with linespoints linetype i + 1 pointtype 7 pointsize 0.4 title columnheader(1)
set xlabel "slowing x bore / v0^2"
set ylabel "velocity backward / v0"
unset key
plot for [i = 0 : blocks - 1] data index i using 5:6 with linespoints linetype i + 1 pointtype 7 pointsize 0.4 title columnheader(1)
unset multiplot
unset output
