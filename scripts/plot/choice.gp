# The candidates for one valve's place: those that may be used as bars by rank, the shortest best;
# those that may not below them with what they fail.
# By hand: lines of   candidate  rank  handicap  reasons   after a head line, text in quotes;
#   gnuplot -c scripts/plot/choice.gp choice.txt choice.svg svg "Non-return valves for delivery"
data = ARG1
output = ARG2
format = ARG3 eq "" ? "svg" : ARG3
heading = ARG4
load substr(ARG0, 1, strlen(ARG0) - strlen("choice.gp")) . "look.gp"

stats data using 2 every ::1 name "rank" nooutput
rows = int(rank_records)
stats data using ($2 > 0 ? $3 : 0) every ::1 name "good" nooutput
longest = good_max > 0 ? good_max : 1

letters = rows > 24 ? ",9" : rows > 14 ? ",10.5" : ",12" # of the letters, so that many rows do not touch
set title heading
set xlabel "handicap [%]: flow lost, slam, dirt, service, part opening (less is better)"
set xrange [0:longest * 1.3]
set yrange [rows + 0.5:0.5]
set ytics 1 out scale 0 font letters
set grid xtics noytics
set style fill solid 0.85 noborder
unset key

plot data using (0):($0 + 1):yticlabels(1) every ::1 with points pointtype -1, \
     data using ($2 == 1 ? $3 / 2 : NaN):($0 + 1):($3 / 2):(0.34) every ::1 with boxxyerror linecolor rgb blue, \
     data using ($2 > 1 ? $3 / 2 : NaN):($0 + 1):($3 / 2):(0.34) every ::1 with boxxyerror linecolor rgb sky, \
     data using ($2 > 0 ? $3 : NaN):($0 + 1):(sprintf(" %.1f", $3)) every ::1 with labels left font letters textcolor rgb black, \
     data using ($2 > 0 ? NaN : 0):($0 + 1):(sprintf(" not suitable: %s", strcol(4))) every ::1 with labels left font letters textcolor rgb red_words
unset output
