# The look all pictures share. The other scripts load it after setting
#   format  "svg", "png" or "pdf"      output  file to write
# and, where a picture needs more or less than the usual height, tall, its share of that.
# Colours of our own, searched by computer: on white each has a contrast of at least 3 to 1 (WCAG 2.1,
# 1.4.11), and any two differ by at least 25 in CIELAB as seen by full, red-, green- and blue-blind
# eyes. Every line type has its own dashes and mark too, so that a black-and-white print says the same.
if (!exists("tall")) { tall = 1.0 }
# The scales make letters, lines, dashes and marks alike in all three forms.
if (format eq "png") {
    set terminal pngcairo size 1500, 900 * tall fontscale 1.5 linewidth 1.5 dashlength 1.3 pointscale 1.8 font "sans,12" background rgb "white"
} else { if (format eq "pdf") {
    set terminal pdfcairo size 10, 6 * tall fontscale 0.65 linewidth 2.0 dashlength 1.3 pointscale 1.0 font "sans,14" background rgb "white"
} else {
    set terminal svg size 1000, 600 * tall dynamic fontscale 1.15 linewidth 1.0 font "sans,14" background rgb "white"
} }
set output output
set encoding utf8
set termoption noenhanced
set minussign

black = "#000000"; blue = "#1f1da9"; red = "#aa0914"; green = "#00a75c"; purple = "#5f0a51"
orange = "#af8e00"; sky = "#7e79ff"; grey = "#767676"
pale = "#dcdcf8"          # only to fill, never to tell
red_words = red           # letters need 4.5 to 1
line_grey = "#dddddd"     # of the grid, which says nothing by itself

set linetype 1 linecolor rgb blue   linewidth 2.2 dashtype solid                 pointtype 7
set linetype 2 linecolor rgb red    linewidth 2.2 dashtype (14, 5)               pointtype 5
set linetype 3 linecolor rgb green  linewidth 2.2 dashtype (5, 4)                pointtype 9
set linetype 4 linecolor rgb purple linewidth 2.2 dashtype (14, 4, 3, 4)         pointtype 11
set linetype 5 linecolor rgb orange linewidth 2.2 dashtype (2, 3)                pointtype 13
set linetype 6 linecolor rgb sky    linewidth 2.2 dashtype (20, 4, 3, 4, 3, 4)   pointtype 6
set linetype 7 linecolor rgb black  linewidth 1.6 dashtype (24, 6)               pointtype 4
set linetype 8 linecolor rgb grey   linewidth 1.6 dashtype (8, 4)                pointtype 8
set linetype cycle 8

set border 3 linecolor rgb "#444444" linewidth 1
set tics nomirror out scale 0.6 textcolor rgb "#222222"
set grid ytics linetype 1 linecolor rgb line_grey linewidth 0.6 dashtype solid
set key outside right top reverse Left samplen 3.5 spacing 1.25 width 1
set datafile missing "nan"
