package pages

import (
	"context"

	"fairwindow/config"
	"fairwindow/planner"
)

// Book is what the pages ask about boats and systems as people write them down. An
// error of an edit is as one of the Desk; one with a method Overtaken() bool says that
// somebody else changed the same thing meanwhile.
type Book interface {
	// BoatVersions are all that a boat has been, newest first.
	BoatVersions(ctx context.Context, name string) ([]config.Version[config.Boat], error)
	// RemovedBoats are those taken out of the book.
	RemovedBoats(ctx context.Context) ([]config.Version[config.Boat], error)
	// EditBoats takes all edits or none.
	EditBoats(ctx context.Context, edits []config.Edit[config.Boat]) error
	// Foresee is the newest plan, and the one that there would be with a boat so.
	Foresee(ctx context.Context, b config.Boat) (before, after planner.Plan, err error)

	// OwnSystems are those written on the pages, and why some of them are not in force.
	OwnSystems(ctx context.Context) ([]config.Version[config.System], map[string]string, error)
	SystemVersions(ctx context.Context, name string) ([]config.Version[config.System], error)
	EditSystem(ctx context.Context, e config.Edit[config.System]) error
}

// Files turn boats and systems into files and back.
type Files interface {
	// ReadBoats reads a file by the ending of its name, and checks it against the yard.
	// Its mistakes are lines to read; good says that there are none but warnings.
	ReadBoats(y config.Yard, name string, text []byte) (boats []config.Boat, mistakes []string, good bool)
	WriteBoats(format string, boats []config.Boat) ([]byte, error) // yaml or csv
	// WriteSystem writes a system as it stands in a yard file.
	WriteSystem(s config.System) ([]byte, error)
}

// overtaken tells a refusal of an edit that somebody else was quicker with.
func overtaken(err error) bool {
	one, ok := err.(interface{ Overtaken() bool })
	return ok && one.Overtaken()
}
