/* Bore change: loss of sudden and tapered changes of bore.
 * Every K counts on the velocity head of the smaller bore, whichever side it is; bore_change_refer
 * moves a K to another bore. `ratio` is smaller over larger bore, 0 to 1. */
#ifndef MODELS_BORE_CHANGE_H
#define MODELS_BORE_CHANGE_H

/* Sudden enlargement: (1 - ratio^2)^2, exact momentum theory (Borda 1766, Carnot 1803). */
double bore_change_enlargement(double ratio);

/* Sudden contraction, sharp edge: Rennels & Hudson, Pipe Flow, 2012, eq. 10.3. Handbooks spread
 * from 0.37 to 0.53 at ratio 0.4; this one is the highest of them. */
double bore_change_contraction(double ratio);

/* Tapered reducers of full cone angle `angle` rad (0 to pi): Crane TP-410 (2009), equations for
 * gradual contraction and enlargement. At pi they are 0.5(1 - ratio^2) and Borda-Carnot. */
double bore_change_tapered_contraction(double ratio, double angle);
double bore_change_tapered_enlargement(double ratio, double angle);

/* The K of the sudden change that stands between two parts of unlike bore, where nobody has listed
 * a reducer: flow goes from bore `from` into bore `to`; on the velocity in bore `referred`. Bores
 * as near as DN50 and the 53 to 57 mm of pipe 63 are taken as one size: 0. */
double bore_change_between(double from, double to, double referred);

/* The K, said of velocity in bore `from`, as it counts on the velocity in bore `to`. */
double bore_change_refer(double loss, double from, double to);

#endif
