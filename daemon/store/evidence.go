package store

import (
	"cmp"
	"database/sql"
	"slices"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// evidenceSpan is kept on either side of a press on a coat: the hours before a
// start, and after the last pass the protection, at most three days.
const evidenceSpan = int64(72 * time.Hour / time.Millisecond)

// evidence is a span of time in which what was read is behind a boat's coat.
type evidence struct {
	boat     string
	places   []string // where it stood; nil: nobody said, so anywhere
	from, to int64    // half-open
}

// speaker is who is read: a place, a boat, or neither.
type speaker struct {
	id          int64
	place, boat string
	folded      int64
}

// speaksOf reports whether what is read there may be behind that coat. The air outdoors,
// and what names nothing, is behind each.
func (s speaker) speaksOf(e evidence) bool {
	return s.boat == e.boat || s.place == config.Outdoors || s.place == "" && s.boat == "" ||
		s.place != "" && (e.places == nil || slices.Contains(e.places, s.place))
}

// touch is what a press says of a coat, or of where its boat stands.
type touch struct {
	kind              planner.PressKind
	boat, area, place string
	at                int64
	coat              bool
	struck            bool // through
}

// evidenceOf are the spans behind coats, of touches by time: around each report of a coat,
// and from one coat to the next on the same area, for its recoat window is reckoned by what
// the hull stood in between. A stay that was struck through counts along with what stands.
func evidenceOf(touches []touch) []evidence {
	var all []evidence
	stays := map[string][]touch{}
	last := map[[2]string]int64{} // the last report of a coat, by boat and area
	for _, t := range touches {
		if t.place != "" {
			stays[t.boat] = append(stays[t.boat], t)
		}
	}
	for _, t := range touches {
		if t.kind == planner.Launched && !t.struck {
			for of := range last {
				if of[0] == t.boat {
					delete(last, of) // what comes later is another job
				}
			}
		}
		if !t.coat {
			continue
		}
		e := evidence{boat: t.boat, from: t.at - evidenceSpan, to: t.at + evidenceSpan + 1}
		of := [2]string{t.boat, t.area}
		if before, ok := last[of]; ok {
			e.from = min(e.from, before)
		}
		last[of] = t.at
		e.places = stood(stays[t.boat], e.from, e.to, t)
		all = append(all, e)
	}
	return all
}

// stood are the places in which a boat was reported in a span of time; nil if where it was
// at its beginning, or by the report itself, is not known.
func stood(stays []touch, from, to int64, report touch) []string {
	var at []string
	for _, s := range stays {
		switch {
		case s.at <= from && !s.struck:
			at = []string{s.place}
		case s.at < to && (len(at) > 0 || report.place != "" || s.at <= report.at && !s.struck):
			at = append(at, s.place)
		}
	}
	if report.place != "" {
		at = append(at, report.place)
	}
	return at
}

// touches reads what evidence hangs on. A stage that no plan ever called something else
// counts as a coat, as does a press on a pass.
func touches(tx *sql.Tx) ([]touch, error) {
	rows, err := tx.Query(`SELECT p.kind, p.boat, p.area, coalesce(p.place, ''), p.happened,
		p.kind IN (?, ?, ?, ?, ?, ?, ?) AND (p.pass > 0 OR NOT EXISTS (SELECT 1 FROM stage_kinds k
			WHERE k.boat = p.boat AND k.area = p.area AND k.stage = p.stage AND k.kind <> ?)),
		EXISTS (SELECT 1 FROM presses q WHERE q.strikes = p.id)
		FROM presses p ORDER BY p.happened, p.id`,
		planner.Started, planner.Override, planner.Resumed, planner.PassDone, planner.Paused, planner.StoppedAt, planner.Finished, config.Coat)
	return collect(rows, err, func(rows *sql.Rows) (t touch, err error) {
		return t, rows.Scan(&t.kind, &t.boat, &t.area, &t.place, &t.at, &t.coat, &t.struck)
	})
}

// span is a half-open span of milliseconds.
type span struct{ from, to int64 }

// free are the parts of a span in which nothing read at a spot is evidence of these.
func (s speaker) free(from, to int64, kept []evidence) []span {
	var held []span
	for _, e := range kept {
		if e.from < to && e.to > from && s.speaksOf(e) {
			held = append(held, span{e.from, e.to})
		}
	}
	slices.SortFunc(held, func(a, b span) int { return cmp.Compare(a.from, b.from) })
	var all []span
	for _, h := range held {
		if h.from > from {
			all = append(all, span{from, h.from})
		}
		from = max(from, h.to)
	}
	if from < to {
		all = append(all, span{from, to})
	}
	return all
}
