# How fast the water runs backward as non-return valves shut, by how fast it slows: in metres and
# seconds, and without dimensions, v0 being the velocity that just holds a valve fully open.
# By hand: a block for each valve, two empty lines between, its name in quotes first, then lines of
#   slowing [m/s2]  reverse [m/s]  slowing x bore/v0^2  reverse/v0
# and, where makers state curves, a second file of the same form
#   gnuplot -c scripts/plot/slam.gp curves.txt slam.svg svg "Velocity backward as the valve shuts" makers.txt
data = ARG1
output = ARG2
format = ARG3 eq "" ? "svg" : ARG3
heading = ARG4
makers = ARG5
load substr(ARG0, 1, strlen(ARG0) - strlen("slam.gp")) . "look.gp"

stats data using 1 name "row" nooutput
blocks = int(row_blocks)
maker_blocks = 0
if (makers ne "") { stats makers using 1 name "maker" nooutput; maker_blocks = int(maker_blocks) }
set logscale x
set format x "%g"
set autoscale xfix # to the data, not to the next power of ten
set yrange [0:*]
set offsets 0, 0, graph 0.06 * (blocks + maker_blocks), 0 # room for the names
set multiplot layout 1, 2 title heading
set key inside left top Left reverse samplen 3
set xlabel "slowing of the water [m/s²]\n "
set ylabel "velocity backward [m/s]"
plot for [i = 0 : blocks - 1] data index i using 1:2 with linespoints linetype i + 1 pointsize 0.33 title columnheader(1), \
     for [i = 0 : maker_blocks - 1] makers index i using 1:2 with linespoints linetype 7 pointsize 0.56 + 0.17 * i title columnheader(1) . ", by its maker"
set xlabel "slowing × bore / v0²\n(v0 just opens the valve fully)"
set ylabel "velocity backward / v0"
unset key
plot for [i = 0 : blocks - 1] data index i using 3:4 with linespoints linetype i + 1 pointsize 0.33 title columnheader(1), \
     for [i = 0 : maker_blocks - 1] makers index i using 3:4 with linespoints linetype 7 pointsize 0.56 + 0.17 * i title columnheader(1)
unset multiplot
unset output
