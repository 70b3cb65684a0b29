# What follows when one thing fails, the worst on top: a square for each consequence, the darker the
# graver, with its figure in it.
# By hand: lines of   row  column  grade  "figure"   after a head line, grade 0 to 3, and two files of
# lines   "name"   for the rows and the columns, a head line each;
#   gnuplot -c scripts/plot/heat.gp cells.txt heat.svg svg "When one thing fails" rows.txt columns.txt
data = ARG1
output = ARG2
format = ARG3 eq "" ? "svg" : ARG3
heading = ARG4
names = ARG5
stats data using 1:2 every ::1 name "cell" nooutput
rows = int(cell_max_x)
columns = int(cell_max_y)
tall = rows > 8 ? 0.35 + 0.08 * rows : 1.0
load substr(ARG0, 1, strlen(ARG0) - strlen("heat.gp")) . "look.gp"

# One hue from white to dark: the order is that of lightness, for every eye and in black and white.
grade_0 = 0xffffff; grade_1 = 0xd3d2f5; grade_2 = 0x7e79ff; grade_3 = 0x1f1da9
shade(grade) = grade < 0.5 ? grade_0 : grade < 1.5 ? grade_1 : grade < 2.5 ? grade_2 : grade_3

set title heading
set xrange [0.5:columns + 0.5]
set yrange [rows + 0.5:0.5]
set border 0
unset grid
set ytics scale 0
set xtics scale 0
set key outside bottom center horizontal samplen 1.5
set xlabel " " # room between the names of the columns and the key
set style fill solid 1.0 border rgb grey

plot names using (1):($0 + 1):yticlabels(1) every ::1 with points pointtype -1 notitle, \
     ARG6 using ($0 + 1):(1):xticlabels(1) every ::1 with points pointtype -1 notitle, \
     data using 2:1:(0.5):(0.5):(shade($3)) every ::1 with boxxyerror linecolor rgb variable dashtype solid linewidth 1 notitle, \
     data using 2:($3 < 2.5 ? $1 : NaN):4 every ::1 with labels textcolor rgb black notitle, \
     data using 2:($3 > 2.5 ? $1 : NaN):4 every ::1 with labels textcolor rgb "white" notitle, \
     NaN with boxes dashtype solid linewidth 1 fillcolor rgb grade_0 title "nothing", \
     NaN with boxes dashtype solid linewidth 1 fillcolor rgb grade_1 title "slight", \
     NaN with boxes dashtype solid linewidth 1 fillcolor rgb grade_2 title "serious", \
     NaN with boxes dashtype solid linewidth 1 fillcolor rgb grade_3 title "grave"
unset output
