package pages

import (
	"context"
	"io"

	"fairwindow/config"
	"fairwindow/daemon/record"
	"fairwindow/daemon/record/paper"
	"fairwindow/planner"
)

// Records is what the pages ask of the records of coats. Errors of what people do are as
// those of the Desk; one with a method WithIt() []int64 names the presses that must be
// struck along.
type Records interface {
	Record(ctx context.Context, boat string) (record.Record, error)
	// Kept is until when the evidence behind its coats is kept raw, and by whose word.
	Kept(ctx context.Context, boat string) (config.Kept, error)
	// Evidence writes a bundle of the record and all that it rests on.
	Evidence(ctx context.Context, boat string, w io.Writer, style paper.Style) error
	// Enter takes what a person adds to a coat; slip says that he strikes his own, lately.
	Enter(ctx context.Context, e record.Entry, slip bool) error
	// Correct strikes presses through for the name, reason and Once of by, and takes what
	// comes instead.
	Correct(ctx context.Context, boat string, ids []int64, instead []planner.Press, by planner.Press, slip bool) error
	// Sign signs off or opens again; the digest must be the record's of now.
	Sign(ctx context.Context, g record.Signature) error
}
