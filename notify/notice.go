package notify

import (
	"net/url"
	"strconv"
	"strings"
	"time"
)

// Notice is one message to people, as plain facts; Sentence words it.
type Notice struct {
	ID         string `json:"id"` // made by ID; the same for every revision
	Kind       Kind   `json:"kind"`
	Boat       string `json:"boat,omitempty"`
	Area       string `json:"area,omitempty"`
	Stage      string `json:"stage,omitempty"` // as people say it: topcoat, sand; of a recoat window, the coat to come
	Pass       int    `json:"pass,omitempty"`  // from 1; 0 is the whole stage
	Occurrence int    `json:"occurrence"`      // which window, stop or silence of this stage, from 1
	Revision   int    `json:"revision"`        // from 1, as Decide numbers them
	Place      string `json:"place,omitempty"`
	Crew       string `json:"crew,omitempty"`

	At    time.Time `json:"at"`             // issued
	From  time.Time `json:"from,omitzero"`  // zero: no beginning, or it has begun
	Until time.Time `json:"until,omitzero"` // zero: no end known
	Cause Cause     `json:"cause,omitzero"` // why, or what ends it
	Mix   Mix       `json:"mix,omitzero"`   // what to mix; zero: nothing
	Do    string    `json:"do,omitempty"`   // one of the Do codes, or words; empty: as usual for the kind

	// Withdrawn: what the earlier revisions told no longer holds, for Cause.
	Withdrawn bool `json:"withdrawn,omitempty"`
}

// Do codes: what a person is asked to do, where the usual for the kind does not fit.
const (
	DoWait       = "wait"
	DoCover      = "cover"
	DoReactivate = "reactivate"
	DoAbrade     = "abrade"
)

// Mix says what to mix for the work that a notice announces.
type Mix struct {
	Card     string        `json:"card"`
	Revision int           `json:"revision,omitempty"`
	Variant  string        `json:"variant,omitempty"`
	Reducer  string        `json:"reducer,omitempty"`
	Parts    string        `json:"parts,omitempty"`       // as the card writes it, such as "2:1 by volume"
	Volume   float64       `json:"volume_l,omitempty"`    // litres, ready to use
	Stands   time.Duration `json:"stands_ns,omitempty"`   // after mixing, before use
	PotLife  time.Duration `json:"pot_life_ns,omitempty"` // at the temperature it will be used at
}

// ID names the thing that a notice tells of: kind, boat, area, stage, pass and occurrence, joined
// by strokes, each escaped as in a URL path so that no two notices share an id. Where there is no
// boat the place stands for it, marked @; a notice about a source carries the source too, since
// two may fall silent in one place.
func ID(n Notice) string {
	about := strings.ReplaceAll(url.PathEscape(n.Boat), "@", "%40")
	if n.Boat == "" {
		about = "@" + strings.ReplaceAll(url.PathEscape(n.Place), "@", "%40")
	}
	if n.Kind.trait().source && n.Cause.Source != "" {
		about += "@" + strings.ReplaceAll(url.PathEscape(n.Cause.Source), "@", "%40")
	}
	return strings.Join([]string{
		url.PathEscape(string(n.Kind)), about, url.PathEscape(n.Area), url.PathEscape(n.Stage),
		strconv.Itoa(n.Pass), strconv.Itoa(n.Occurrence),
	}, "/")
}
