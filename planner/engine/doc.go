// Package engine answers one question: when, where and by whom is each task done, so
// that all together cost least? It is told tasks with their modes, places that blocks
// of them hold, crews with their hours, lags, and what may start when, as plain data
// (Problem), and gives starts, what they cost, and a bound below which nothing can
// cost (Result). It knows no paint, reads no clock, and gives the same answer to the
// same question. Grid and Timetable are the time and the room that it and its callers
// count in.
package engine
