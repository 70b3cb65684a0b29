# The variants of a study in two measures, and those that none beats (Pareto's front), joined by a line.
# Where a third measure is compared too, the larger a mark the more of it; the front is then no line.
# By hand: two files of lines   x  y  within  front  third  variant   after a head line, within and front
# 1 or 0, third nan where there is none, variant its number, by rising x, the second file with the front alone;
#   gnuplot -c scripts/plot/front.gp dots.txt dots.svg svg "Variants" "flow [L/s]" "slam [m]" front.txt "energy [Wh/m3]"
# Without a third measure the last word is left out.
data = ARG1
output = ARG2
format = ARG3 eq "" ? "svg" : ARG3
heading = ARG4
front = ARG7
third = ARG8
least = 0.0; greatest = 1.0
if (third ne "") {
    stats data using 5 every ::1 name "third" nooutput
    least = third_min; greatest = third_max
}
load substr(ARG0, 1, strlen(ARG0) - strlen("front.gp")) . "look.gp"

set title heading
set xlabel ARG5 . "\n" # room between it and the key
set ylabel ARG6
set grid xtics ytics
stats data using 2 every ::1 name "high" nooutput
set offsets graph 0.05, graph 0.05, graph 0.05, graph (high_min < 0 || high_min > 0.3 * high_max ? 0.05 : 0)
if (high_min >= 0 && high_min <= 0.3 * high_max) { set yrange [0:*] }
set key outside bottom center horizontal width 2

# By area, as eyes compare marks; what has no third value is as small as the least.
smallest = 0.44; largest = 1.56
part(z) = greatest > least && z > least ? (z - least) / (greatest - least) : 0.0
size(z) = third eq "" ? 0.78 : sqrt(smallest**2 + part(z) * (largest**2 - smallest**2))
told(share) = sprintf("%s: %.4g", third, least + share * (greatest - least))

# Few variants on the front are told by their numbers.
stats front using 1 every ::1 name "best" nooutput
numbers = best_records <= 15 ? ', front using 1:2:6 every ::1 with labels offset character 1.2, 0.7 font ",11" textcolor rgb black notitle' : ''

# Shapes as well as colours, so that a black-and-white print says the same.
if (third eq "") {
    plot data using ($3 == 0 ? $1 : NaN):2 every ::1 with points pointtype 2 pointsize 0.78 linewidth 1.4 linecolor rgb red title "outside a limit", \
         data using ($3 == 1 ? $1 : NaN):2 every ::1 with points pointtype 6 pointsize 0.78 linewidth 1.4 linecolor rgb sky title "within the limits", \
         front using 1:2 every ::1 with linespoints pointtype 7 pointsize 0.78 linewidth 2.2 linecolor rgb blue title "beaten by none (number of variant)" @numbers
} else {
    plot data using ($3 == 0 ? $1 : NaN):2:(size(valid(5) ? column(5) : least)) every ::1 with points pointtype 2 pointsize variable linewidth 1.4 linecolor rgb red notitle, \
         data using ($3 == 1 && $4 == 0 ? $1 : NaN):2:(size(valid(5) ? column(5) : least)) every ::1 with points pointtype 6 pointsize variable linewidth 1.4 linecolor rgb sky notitle, \
         front using 1:2:(size(valid(5) ? column(5) : least)) every ::1 with points pointtype 7 pointsize variable linecolor rgb blue notitle, \
         NaN with points pointtype 2 pointsize 0.78 linewidth 1.4 linecolor rgb red title "outside a limit", \
         NaN with points pointtype 6 pointsize size(least) linewidth 1.4 linecolor rgb grey title told(0.0), \
         NaN with points pointtype 6 pointsize 0.78 linewidth 1.4 linecolor rgb sky title "within the limits", \
         NaN with points pointtype 6 pointsize size(0.5 * (least + greatest)) linewidth 1.4 linecolor rgb grey title told(0.5), \
         NaN with points pointtype 7 pointsize 0.78 linecolor rgb blue title "beaten by none (number of variant)", \
         NaN with points pointtype 6 pointsize size(greatest) linewidth 1.4 linecolor rgb grey title told(1.0) @numbers
}
unset output
