// Package sky answers one question: what do the sun and the sky send to a facet
// of a hull?
//
// Where the sun stands (sun.go) gives the light of a clear sky and what clouds
// leave of it (clear.go). Light on the level, measured or forecast, is parted
// into beam and diffuse (light.go) and turned onto a facet (facet.go). By night as
// by day, sky, air and ground send long waves (longwave.go).
//
// Angles are degrees, azimuths run from north over east, fluxes are W/m². The
// package is pure, and nothing in it allocates. An unknown value is NaN and
// makes the answer NaN. What shades a facet is not known here: a roof's or a
// neighbour's part is taken off by who knows of it.
package sky
