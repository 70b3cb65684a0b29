# The look all pictures share. The other scripts load it after setting
#   format  "svg" or "png"      output  file to write
# Colours: Okabe & Ito, Color Universal Design (2008), told apart by colour-blind people; every line
# has its own dashes too, so that a black-and-white print says the same.
if (format eq "png") {
    set terminal pngcairo size 1500, 900 fontscale 1.5 linewidth 1.5 font "sans,12" background rgb "white"
} else {
    set terminal svg size 1000, 600 dynamic fontscale 1.0 linewidth 1.0 font "sans,14" background rgb "white"
}
set output output
set encoding utf8
set termoption noenhanced

black = "#000000"; orange = "#e69f00"; sky = "#56b4e9"; green = "#009e73"
yellow = "#f0e442"; blue = "#0072b2"; red = "#d55e00"; purple = "#cc79a7"; grey = "#8a8a8a"
red_words = "#a84300" # the red is too faint for letters on white

set linetype 1 linecolor rgb blue   linewidth 2.2 dashtype solid
set linetype 2 linecolor rgb red    linewidth 2.2 dashtype (14, 5)
set linetype 3 linecolor rgb green  linewidth 2.2 dashtype (5, 4)
set linetype 4 linecolor rgb purple linewidth 2.2 dashtype (14, 4, 3, 4)
set linetype 5 linecolor rgb orange linewidth 2.2 dashtype (2, 3)
set linetype 6 linecolor rgb sky    linewidth 2.2 dashtype (20, 4, 3, 4, 3, 4)
set linetype 7 linecolor rgb black  linewidth 1.6 dashtype solid
set linetype 8 linecolor rgb grey   linewidth 1.6 dashtype (8, 4)
set linetype cycle 8

set border 3 linecolor rgb "#444444" linewidth 1
set tics nomirror out scale 0.6 textcolor rgb "#222222"
set grid ytics linetype 1 linecolor rgb "#dddddd" linewidth 0.6 dashtype solid
set key outside right top reverse Left samplen 3.5 spacing 1.25 width 1
set datafile missing "nan"
