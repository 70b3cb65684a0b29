# One run along its length: ground, pipe, head before, highest and lowest head, pressure class, vapour.
# By hand:
#   downsurge show site.h5 "/surge/runs/rising main" > main.txt
#   gnuplot -c scripts/plot/profile.gp main.txt main.svg svg "Rising main"
# Columns of the data, by their names in its first line, in any order, in m: distance, elevation,
# head_start, head_max, head_min, rating, vapour and, where it was surveyed, ground.
data = ARG1
output = ARG2
format = ARG3 eq "" ? "svg" : ARG3
heading = ARG4
load substr(ARG0, 1, strlen(ARG0) - strlen("profile.gp")) . "look.gp"
set datafile columnheaders
x = "distance [m]"

# The scale follows what moves; a class line far above it would squeeze the rest, so it is drawn
# only where it is near, and told in words where it is not.
stats data using x name "along" nooutput
stats data using "head_max [m]" name "high" nooutput
stats data using "head_min [m]" name "low" nooutput
stats data using "elevation [m]" name "pipe" nooutput
top = high_max > pipe_max ? high_max : pipe_max
bottom = low_min < pipe_min ? low_min : pipe_min
span = top - bottom > 1 ? top - bottom : 1
# Where no pipe's class is known the column holds no number, and nothing is set.
stats data using "rating [m]" name "class" nooutput
stats data using "vapour [m]" name "vapour" nooutput
stats data using "ground [m]" name "ground" nooutput
if (!exists("class_min")) { class_min = 1e30 }
if (!exists("vapour_max")) { vapour_max = -1e30; vapour_min = 1e30 }
has_ground = exists("ground_records") ? ground_records > 1 : 0
if (has_ground) { bottom = ground_min < bottom ? ground_min : bottom; top = ground_max > top ? ground_max : top }
has_class = class_min < top + 1.2 * span
has_vapour = vapour_max > bottom - 0.8 * span && vapour_max > -1e29
# A class line that climbs with the pipe is drawn whole where its end is near too.
class_top = has_class && class_max < top + 2 * span ? class_max + 0.05 * span : class_min + 0.15 * span
upper = has_class && class_top > top ? class_top : top + 0.1 * span
lower = has_vapour && vapour_min < bottom ? vapour_min - 0.08 * span : bottom - 0.08 * span
if (!has_class && class_min < 1e29) { upper = upper + 0.12 * span }

ground_brown = "#7a5a28"
set title heading
set xlabel "distance from the beginning of the run [m]"
set ylabel "elevation and head [m]"
set xrange [0:along_max]
set yrange [lower:upper]
if (!has_class && class_min < 1e29) {
    set label 1 sprintf("The pressure class allows more than is drawn: heads up to %.0f m", class_min) \
        at graph 0.01, graph 0.965 front textcolor rgb red_words boxed
    set style textbox opaque noborder fillcolor rgb "white"
}

plot data using x:(column("head_max [m]")):(column("head_min [m]")) with filledcurves linecolor rgb pale fillstyle solid 1 noborder title "range of heads", \
     data using x:(has_ground ? column("ground [m]") : NaN):(has_ground ? column("ground [m]") - 0.035 * (upper - lower) : NaN) with filledcurves fillcolor rgb ground_brown fillstyle transparent pattern 5 noborder title (has_ground ? "ground" : ""), \
     data using x:(has_ground ? column("ground [m]") : NaN) with lines linecolor rgb ground_brown linewidth 1.4 dashtype solid notitle, \
     data using x:(has_class ? column("rating [m]") : NaN) with lines linecolor rgb red linewidth 2 dashtype (24, 6) title (has_class ? "pressure class" : ""), \
     data using x:"head_start [m]" with lines linecolor rgb green linewidth 2.0 dashtype (14, 4, 3, 4) title "head before", \
     data using x:"head_max [m]" with lines linecolor rgb red linewidth 2.4 dashtype (14, 5) title "highest head", \
     data using x:"head_min [m]" with lines linecolor rgb blue linewidth 2.4 dashtype (5, 4) title "lowest head", \
     data using x:"elevation [m]" with lines linecolor rgb black linewidth 3 dashtype solid title "pipe", \
     data using x:(has_vapour ? column("vapour [m]") : NaN) with lines linecolor rgb purple linewidth 2.4 dashtype (2, 3) title (has_vapour ? "water boils" : "")
unset output
