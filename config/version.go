package config

import "time"

// Version is one state of what people write down on the pages, a boat or a system,
// with who made it so.
type Version[T any] struct {
	Of       T
	Revision int64 // from 1
	Removed  bool
	By       string
	At       time.Time
	Why      string // it was removed
}

// Edit is what a person makes of a boat or a system.
type Edit[T any] struct {
	To      T
	From    int64 // the revision that was edited; 0 for a new one
	Removed bool
	By      string
	Why     string // it is removed
	Once    string // of the form: sent twice, it counts once
}
