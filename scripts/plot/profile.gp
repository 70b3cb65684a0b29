# One run along its length: ground, highest and lowest head, class and vapour line.
# By hand:
#   downsurge show site.h5 /surge/runs/main > main.txt
#   gnuplot -c scripts/plot/profile.gp main.txt main.svg svg "Main"
# Columns of the data: distance, elevation, head at the start, highest, lowest, class, vapour [m].
data = ARG1
output = ARG2
format = ARG3 eq "" ? "svg" : ARG3
heading = ARG4
load substr(ARG0, 1, strlen(ARG0) - strlen("profile.gp")) . "look.gp"

# The scale follows what moves; a class line far above it would squeeze the rest, so it is drawn
# only where it is near, and told in words where it is not.
stats data using 1 every ::1 name "along" nooutput
stats data using 4 every ::1 name "high" nooutput
stats data using 5 every ::1 name "low" nooutput
stats data using 2 every ::1 name "ground" nooutput
top = high_max > ground_max ? high_max : ground_max
bottom = low_min < ground_min ? low_min : ground_min
span = top - bottom > 1 ? top - bottom : 1
stats data using (valid(6) ? $6 : 1e30) every ::1 name "class" nooutput
stats data using (valid(7) ? $7 : -1e30) every ::1 name "vapour" nooutput
# Where no pipe's class is known the column holds no number, and nothing is set.
if (!exists("class_min")) { class_min = 1e30 }
if (!exists("vapour_max")) { vapour_max = -1e30; vapour_min = 1e30 }
has_class = class_min < top + 1.2 * span
has_vapour = vapour_max > bottom - 0.8 * span && vapour_max > -1e29
upper = has_class && class_min + 0.15 * span > top ? class_min + 0.15 * span : top + 0.1 * span
lower = has_vapour && vapour_min < bottom ? vapour_min - 0.08 * span : bottom - 0.08 * span

set title heading
set xlabel "distance from the beginning of the run [m]"
set ylabel "elevation and head [m]"
set xrange [0:along_max]
set yrange [lower:upper]
if (!has_class && class_min < 1e29) {
    set label 1 sprintf("class line lies above the picture, from %.0f m", class_min) \
        at graph 0.01, graph 0.975 textcolor rgb red_words
}

plot data using 1:4:5 every ::1 with filledcurves linecolor rgb sky fillstyle transparent solid 0.18 noborder title "range of heads", \
     data using 1:(has_class ? $6 : NaN) every ::1 with lines linecolor rgb red linewidth 2 dashtype (14, 4, 3, 4) title (has_class ? "pressure class" : ""), \
     data using 1:3 every ::1 with lines linecolor rgb green linewidth 2.0 dashtype solid title "head at the start", \
     data using 1:4 every ::1 with lines linecolor rgb orange linewidth 2.4 dashtype (14, 5) title "highest head", \
     data using 1:5 every ::1 with lines linecolor rgb blue linewidth 2.4 dashtype (5, 4) title "lowest head", \
     data using 1:2 every ::1 with lines linecolor rgb black linewidth 3 dashtype solid title "pipe", \
     data using 1:(has_vapour ? $7 : NaN) every ::1 with lines linecolor rgb purple linewidth 2.6 dashtype (3, 4) title (has_vapour ? "water boils" : "")
unset output
