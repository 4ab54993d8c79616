// Package skin answers one question: how warm and how wet is the skin of a
// hull?
//
// A Skin is one facet of a hull: layers, colour and what lies behind them. A
// Model is a skin cut into nodes (nodes.go). Its State is carried on by Step
// through one Exposure after another: sun, long wave, wind, dew, rain
// (step.go), with the water that condenses, stays and dries (wet.go). How fast
// a skin follows is its Lag (lag.go); what the wind and still air take from it
// is in convection.go, the figures of what boats are made of in materials.go.
//
// The package is pure: no I/O, no clock, no log, no state that lasts. An
// unknown value is NaN, and what depends on it is NaN. Heat flows in W/m²,
// temperatures in °C, water in kg/m², which is also millimetres.
package skin
