package record

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"fairwindow/planner"
)

// Act is what somebody did to a record with his name.
type Act string

// What is signed.
const (
	Signed   Act = "signed"   // from then on nothing of it is taken
	Reopened Act = "reopened" // for a reason; what was signed before stays
)

// Signature is a person's name under a boat's record, or under one coat of it.
type Signature struct {
	ID     int64       `json:"id,omitempty"`
	Key    planner.Key `json:"key"` // Area and Stage empty: the whole boat
	Act    Act         `json:"act"`
	By     string      `json:"by"`
	Role   string      `json:"role"`
	At     time.Time   `json:"at"`
	Remark string      `json:"remark,omitempty"`
	Digest string      `json:"digest,omitempty"` // SHA-256 of the canonical JSON of what was signed
	Once   string      `json:"once,omitempty"`
}

// Locked is the signature that a fact about key would break; false if there is none.
// The whole boat's shuts all of it, a coat's that coat.
func Locked(signatures []Signature, key planner.Key) (Signature, bool) {
	for _, of := range []planner.Key{{Boat: key.Boat}, key} {
		if s, ok := last(signatures, of); ok && s.Act == Signed {
			return s, true
		}
	}
	return Signature{}, false
}

// LockedCoats are the coats of a boat whose own signature stands.
func LockedCoats(signatures []Signature, boat string) []Signature {
	var all []Signature
	seen := map[planner.Key]bool{}
	for _, s := range signatures {
		if s.Key.Boat != boat || s.Key.Stage == "" || seen[s.Key] {
			continue
		}
		seen[s.Key] = true
		if is, _ := last(signatures, s.Key); is.Act == Signed {
			all = append(all, is)
		}
	}
	return all
}

// last is the newest signature of exactly this; they come in the order they were made.
func last(signatures []Signature, of planner.Key) (Signature, bool) {
	for _, s := range slices.Backward(signatures) {
		if s.Key == of {
			return s, true
		}
	}
	return Signature{}, false
}

// Canonical is the record as it is signed: its JSON, without signatures, two spaces
// deep, with a newline at its end.
func (r Record) Canonical() ([]byte, error) {
	r.Signatures = nil
	text, err := json.MarshalIndent(r, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("record of %s: %w", r.Boat.Name, err)
	}
	return append(text, '\n'), nil
}

// Digest is the SHA-256 of Canonical, in hexadecimal.
func (r Record) Digest() (string, error) {
	text, err := r.Canonical()
	if err != nil {
		return "", err
	}
	return Sum(text), nil
}

// Sum is the SHA-256 of a text, in hexadecimal.
func Sum(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// Of is the record narrowed to one coat, all its attempts; to the whole boat if the
// key names no stage.
func (r Record) Of(key planner.Key) Record {
	if key.Stage == "" {
		return r
	}
	r.Coats = slices.DeleteFunc(slices.Clone(r.Coats), func(c Coat) bool { return c.Area != key.Area || c.Stage != key.Stage })
	r.Work = slices.DeleteFunc(slices.Clone(r.Work), func(w Report) bool { return w.Area != key.Area || w.Stage != key.Stage })
	r.Boat.Areas = slices.DeleteFunc(slices.Clone(r.Boat.Areas), func(a Area) bool { return a.Name != key.Area })
	r.Boat.Launched = time.Time{} // comes after, and is no part of the coat
	used := map[string]bool{}
	for _, c := range r.Coats {
		for _, s := range c.Air {
			for _, name := range s.By {
				used[name] = true
			}
		}
	}
	r.Instruments = slices.DeleteFunc(slices.Clone(r.Instruments), func(i Instrument) bool { return !used[i.Name] })
	return r
}

// Newest is the latest time in a record: when it was last added to.
func (r Record) Newest() time.Time {
	var t time.Time
	later := func(u time.Time) {
		if u.After(t) {
			t = u
		}
	}
	for _, p := range r.Work {
		later(p.Entered)
		if p.Struck != nil {
			later(p.Struck.At)
		}
	}
	for _, c := range r.Coats {
		for _, e := range c.Entries {
			later(e.Entered)
		}
	}
	for _, g := range r.Signatures {
		later(g.At)
	}
	return t.UTC()
}
