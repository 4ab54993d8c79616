// Package conditions answers one question: may a coat go on this hull, here,
// then, and when may the next one?
//
// The air (moist.go, solve.go) and what a building makes of it (enclosure.go,
// booth.go; fitted to readings in fit.go) surround a hull of several facets
// (hull.go), whose surface follows sun, sky, wind and air where it stands
// (stand.go, surface.go; packages sky and skin). How far a forecast of all that
// can be trusted is published (spread.go) and learned (learn.go, experience.go), and
// which of several was most right is scored (skill.go) and ranked (leader.go);
// beyond it is the season (climate.go). That makes a Moment (outlook.go).
//
// Limits and their owners (limits.go) judge a Moment into a Verdict (verdict.go),
// with the smallest changes that would make it yes (remedy.go); runs of yes are
// found by runs.go, and a span has one chance (span.go). The same surface
// temperatures drive a coat's Clock (clock.go), facet by facet (coat.go), along
// its card's tables (cure.go, table.go) towards its milestones, and the paint's
// own temperature the life of a pot (pot.go).
//
// The package is pure: no I/O, no clock, no log, no state that lasts. An
// unknown value is NaN; a value that a limit needs and nobody gave makes the
// answer unknown, which shuts. The answers advise: the maker's instructions,
// the site's rules and licensed practice decide.
package conditions
