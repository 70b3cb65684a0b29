/* Slam figure: the velocity backward at which non-return valves shut, by how fast the water slows,
 * in metres and seconds and without dimensions. */
#ifndef IO_PLOT_SLAM_FIGURE_H
#define IO_PLOT_SLAM_FIGURE_H

#include "io/plot/drawing.h"

/* Lays the sheet /valve on the bench for the script slam.gp: blocks of the file "curves", and of
 * "makers" when some maker's curve is in it, which *has_makers tells. */
MUST_CHECK bool slam_figure_write(const struct sheet *sheet, const struct bench *bench,
                                  bool *has_makers, struct failure *failure);

/* The picture of the results' /valve. */
MUST_CHECK bool slam_figure(struct figures *figures, struct failure *failure);

#endif
