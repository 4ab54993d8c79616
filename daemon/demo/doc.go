// Package demo answers one question: what if it were true? It invents a yard's
// weather, booths, hulls, instruments and crews, sends what the instruments
// would say and what the crews would report to a daemon that knows nothing of
// the invention, and scores what came of it against the truth, not against the
// readings.
//
// The truth runs on parameters that nothing else is told (leakage, wall loss,
// sensor bias, lag, scatter) and, wherever there is a second published formula,
// on another one than the program's own: Magnus with the coefficients of
// WMO-No. 8 for vapour, Meeus for the sun, Haurwitz and Kasten–Czeplak for its
// strength, Orgill–Hollands and an isotropic sky for slopes, Berdahl–Martin for
// the sky's long wave, McAdams for convection. One seed gives one truth, byte
// for byte: everything runs in the caller's goroutine and draws only from the
// seed.
package demo
