// Package engine answers one question: when is there room? It keeps time as a
// grid of equal slots, resources as timetables of how many are there and how
// many are taken, lays work over the hours in which people are there, and looks
// for a good order in which to fill them. It knows no paint, reads no clock, and
// gives the same answer to the same question.
package engine
