# The candidates for one valve's place: those that may be used as bars by rank, the shortest best;
# those that were not ranked, and those that may not be used, below them with the reason.
# By hand:
#   downsurge show site.h5 /choose > choice.txt
#   gnuplot -c scripts/plot/choice.gp choice.txt "pond delivery" choice.svg svg "Non-return valves for pond delivery"
# Columns of the data, by their names in its first line, in any order: place, label, rank, handicap,
# reasons, is_surged, is_open. Rows of other places are passed over.
data = ARG1
place = ARG2
output = ARG3
format = ARG4 eq "" ? "svg" : ARG4
heading = ARG5
set datafile columnheaders
set datafile missing "nan"

here(value) = strcol("place") eq place ? value : NaN
good(x) = column("rank") > 0
# A long reason goes on in lines below, broken at spaces.
widest = 84
space(text, at) = at < 2 ? widest : substr(text, at, at) eq " " ? at : space(text, at - 1)
folded(text) = strlen(text) <= widest ? text : \
    substr(text, 1, space(text, widest)) . "\n    " . folded(substr(text, space(text, widest) + 1, strlen(text)))
breaks(text) = strlen(text) <= widest ? 0 : 1 + breaks(substr(text, space(text, widest) + 1, strlen(text)))
why(x) = (column("is_open") > 0 ? "not ranked: " : "not suitable: ") . strcol("reasons")
label(x) = strcol("label") . (good(0) && column("is_surged") == 0 ? ", slam not judged" : "")

# A row's height in lines of text, and its first line.
height(x) = good(0) ? 1 : 1 + 0.75 * breaks(why(0))
row(x) = strcol("place") eq place ? (high = height(0), rows = rows + high, first = rows - high + 1) : NaN
rows = 0
stats data index 0 using (row(0)) name "row" nooutput
count = rows
stats data index 0 using (here(strlen(label(0)))) name "word" nooutput
stats data index 0 using (here(good(0) ? column("handicap [percent]") : 0)) name "good" nooutput
longest = good_max > 0 ? good_max : 1

# Many rows make a higher picture, so that they can be read in print.
tall = count > 14 ? (count + 4) / 18.0 : 1.0
load substr(ARG0, 1, strlen(ARG0) - strlen("choice.gp")) . "look.gp"
letters = ",12"
set title heading
set xlabel "handicap [%]: flow lost, slam, dirt, service, part opening (less is better)"
set xrange [0:longest * 1.3]
set yrange [count + 0.5:0.5]
set lmargin 3 + word_max * 0.86
unset ytics
set grid xtics noytics
set style fill solid 1 border linecolor rgb blue
unset key

# The best is dark, the others pale with an edge: told apart in any print.
rows = 0
plot data index 0 using (0):(row(0)):(here(1) == 1 ? label(0) : "") with labels right offset -1, 0 font letters textcolor rgb black, \
     rows = 0, data index 0 using (row(0), here(column("rank") == 1 ? column("handicap [percent]") / 2 : NaN)):(first):(column("handicap [percent]") / 2):(0.34) with boxxyerror dashtype solid linewidth 1 fillcolor rgb blue, \
     rows = 0, data index 0 using (row(0), here(column("rank") > 1 ? column("handicap [percent]") / 2 : NaN)):(first):(column("handicap [percent]") / 2):(0.34) with boxxyerror dashtype solid linewidth 1 fillcolor rgb pale, \
     rows = 0, data index 0 using (row(0), here(good(0) ? column("handicap [percent]") : NaN)):(first):(sprintf("%.1f", column("handicap [percent]"))) with labels left offset 0.7, 0 font letters textcolor rgb black, \
     rows = 0, data index 0 using (row(0), here(!good(0) && column("is_open") == 0 ? 0 : NaN)):(first):(folded(why(0))) with labels left offset 0.7, 0 font letters textcolor rgb red_words, \
     rows = 0, data index 0 using (row(0), here(!good(0) && column("is_open") > 0 ? 0 : NaN)):(first):(folded(why(0))) with labels left offset 0.7, 0 font letters textcolor rgb "#444444"
unset output
