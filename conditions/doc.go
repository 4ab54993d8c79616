// Package conditions answers one question: may a coat go on this hull, here,
// then, and when may the next one?
//
// The air (moist.go, solve.go), what a building (enclosure.go) and a booth's
// plant (booth.go, by its own readings fit.go with squares.go) make of it, how a
// hull follows it (skin.go) and how far a forecast of it can be trusted
// (spread.go; learn.go, lesson.go and experience.go from the yard's own pairs;
// outlook.go, climate.go) make a Moment. Limits and their owners (limits.go)
// judge a Moment into a Verdict (verdict.go), with the smallest changes that
// would make it yes (remedy.go); runs of yes are windows (window.go), and a run has
// one chance (span.go). The same
// surface temperatures drive a coat's Clock (clock.go) along its card's tables
// (cure.go, table.go) towards its milestones; a Coat has a clock for each facet of
// the hull (coat.go), in the Exposure that it stands in (exposure.go). Before it is a
// coat, paint has the life of its pot (pot.go).
//
// The package is pure: no I/O, no clock, no log, no state that lasts. An
// unknown value is NaN; a value that a limit needs and nobody gave makes the
// answer unknown, which shuts. The answers advise: the maker's instructions,
// the site's rules and licensed practice decide.
package conditions
