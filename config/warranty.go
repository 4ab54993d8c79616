package config

import (
	"fmt"
	"math"
	"strings"
	"time"

	"fairwindow/conditions/unit"
)

// Lasting is how long something lasts: an elapsed time, or forever.
type Lasting unit.Duration

// Forever is written "forever", of a Lasting and of a boat's warranty.
const (
	Forever  Lasting = math.MaxInt64
	ForGood          = "forever"
	rightDay         = "write the last day of it, like 2029-06-30, or forever"
)

// String is what a person would write.
func (l Lasting) String() string {
	if l == Forever {
		return ForGood
	}
	return unit.Duration(l).String()
}

// MarshalText writes it.
func (l Lasting) MarshalText() ([]byte, error) { return []byte(l.String()), nil }

// UnmarshalText reads it.
func (l *Lasting) UnmarshalText(text []byte) error {
	if strings.TrimSpace(string(text)) == ForGood {
		*l = Forever
		return nil
	}
	d, err := unit.ParseDuration(string(text))
	if err != nil {
		return fmt.Errorf("%w, or forever", err)
	}
	*l = Lasting(d)
	return nil
}

// Kept is until when the evidence behind a boat's coats is kept raw, and by whose word.
type Kept struct {
	Until time.Time // zero: no day is known on which it may go
	By    KeptBy
}

// KeptBy is what says how long evidence is kept.
type KeptBy string

// What says so.
const (
	ByBoat    KeptBy = "boat"     // the boat's own warranty
	ByYard    KeptBy = "yard"     // its launch, and the yard file's keep.warranty
	TillLater KeptBy = "launched" // it is not launched, or was worked on since
)

// Over reports whether the evidence may go.
func (k Kept) Over(now time.Time) bool { return !k.Until.IsZero() && !now.Before(k.Until) }

// Keeps is how long the evidence behind a boat's coats is kept raw; launched is zero for a
// boat that is here. A warranty lasts to the end of its last day. What can't be read, as
// of an older file, ends nothing.
func (y Yard) Keeps(b Boat, launched time.Time) Kept {
	switch {
	case b.Warranty == ForGood:
		return Kept{By: ByBoat}
	case b.Warranty == "" && (y.Keep.Warranty == Forever || y.Keep.Warranty <= 0):
		return Kept{By: ByYard}
	case launched.IsZero():
		return Kept{By: TillLater}
	case b.Warranty == "":
		return Kept{launched.Add(time.Duration(y.Keep.Warranty)), ByYard}
	}
	last, day, err := parseWall(b.Warranty)
	zone, err2 := y.Location()
	if err != nil || err2 != nil || !day {
		return Kept{By: ByBoat}
	}
	ends := atWall(last.AddDate(0, 0, 1), zone)
	if ends.Before(launched) {
		ends = launched
	}
	return Kept{ends, ByBoat}
}

// warranty checks a boat's own. One that ends before the launch is a slip of the pen.
func (c *checker) warranty(path string, b Boat) {
	if b.Warranty == "" || b.Warranty == ForGood {
		return
	}
	last, day, err := parseWall(b.Warranty)
	if err != nil || !day {
		c.fault(path+".warranty", fmt.Sprintf("%q is not the last day of a warranty", b.Warranty), rightDay)
		return
	}
	if promised, _, err := parseWall(b.Promised); err == nil && !last.AddDate(0, 0, 1).After(promised) {
		c.fault(path+".warranty", fmt.Sprintf("the warranty ends (%s) before the launch is promised (%s)", b.Warranty, b.Promised), rightDay)
	}
}
