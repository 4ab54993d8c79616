package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fairwindow/sensors"
)

// Whole says what a reading lacks without which it can't be kept; nil: nothing.
func Whole(r sensors.Reading) error {
	if r.Key == "" || r.At.IsZero() || r.Received.IsZero() {
		return fmt.Errorf("a reading of %q needs a key, a time and a time of receipt; it has key %q, %v and %v", r.Source, r.Key, r.At, r.Received)
	}
	return nil
}

// spot is a source as it reads one place or boat, by which readings are kept.
type spot struct {
	id     int64
	folded int64 // readings before this are in the hours
}

// spotName is what tells spots apart.
type spotName struct{ source, place, boat string }

// insertReadings keeps the readings whose key is new.
func (s *Store) insertReadings(tx *sql.Tx, readings []sensors.Reading, done *Committed) error {
	if len(readings) == 0 {
		return nil
	}
	insert, err := tx.Prepare(`INSERT INTO readings (spot, at, key, id, late, measured, flags, raw)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`)
	if err != nil {
		return err
	}
	defer insert.Close()
	var last int64
	if err := tx.QueryRow(`SELECT last FROM arrivals`).Scan(&last); err != nil {
		return err
	}
	before, spots := last, map[spotName]*spot{}
	for _, r := range readings {
		if err := Whole(r); err != nil {
			return err
		}
		name := spotName{r.Source, r.Place, r.Boat}
		of := spots[name]
		if of == nil {
			if of, err = findSpot(tx, name); err != nil {
				return fmt.Errorf("reading %q: %w", r.Key, err)
			}
			spots[name] = of
		}
		flags, err := packFlags(r.Flags)
		if err != nil {
			return fmt.Errorf("reading %q: %w", r.Key, err)
		}
		at := millis(r.At)
		result, err := insert.Exec(of.id, at, packKey(r.Key, r.Source, at), last+1, millis(r.Received)-at, packValues(r), flags, maybeText(r.Raw))
		if err != nil {
			return fmt.Errorf("reading %q: %w", r.Key, err)
		}
		fresh, err := result.RowsAffected()
		if err != nil {
			return err
		}
		if fresh == 0 {
			done.Repeats++
			continue
		}
		last++
		r.ID = last
		if at < of.folded { // it came after its hour was folded, which is done again
			of.folded = hourOf(at)
			if _, err := tx.Exec(`UPDATE spots SET folded = ? WHERE id = ?`, of.folded, of.id); err != nil {
				return fmt.Errorf("reading %q: %w", r.Key, err)
			}
		}
		r.At, r.Received = rounded(r.At), rounded(r.Received)
		done.Readings = append(done.Readings, r)
	}
	if last == before {
		return nil
	}
	_, err = tx.Exec(`UPDATE arrivals SET last = ?`, last)
	return err
}

// findSpot is the spot of a name, made if it is new.
func findSpot(tx *sql.Tx, n spotName) (*spot, error) {
	if _, err := tx.Exec(`INSERT INTO spots (source, place, boat, folded) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING`,
		n.source, n.place, n.boat, int64(math.MinInt64)); err != nil {
		return nil, err
	}
	var of spot
	err := tx.QueryRow(`SELECT id, folded FROM spots WHERE source = ? AND place = ? AND boat = ?`, n.source, n.place, n.boat).Scan(&of.id, &of.folded)
	return &of, err
}

func packFlags(flags []sensors.Flag) (sql.NullString, error) {
	if len(flags) == 0 {
		return sql.NullString{}, nil
	}
	text, err := json.Marshal(flags)
	return maybeText(string(text)), err
}

// Query asks for readings; what is left empty does not narrow. The span is
// half-open. With a Limit the newest are given; with Each only those measured at a
// multiple of it or no longer before one than Before.
type Query struct {
	Place, Boat, Source string
	From, To            time.Time
	Each, Before        time.Duration
	Limit               int
}

// terms is what a query asks of spots s and readings r.
func (q Query) terms() (where string, args []any) {
	var all []string
	narrow := func(on bool, term string, values ...any) {
		if on {
			all, args = append(all, term), append(args, values...)
		}
	}
	narrow(q.Place != "", "s.place = ?", q.Place)
	narrow(q.Boat != "", "s.boat = ?", q.Boat)
	narrow(q.Source != "", "s.source = ?", q.Source)
	narrow(!q.From.IsZero(), "r.at >= ?", millis(q.From))
	narrow(!q.To.IsZero(), "r.at < ?", millis(q.To))
	if len(all) == 0 {
		return "", nil
	}
	return " WHERE " + strings.Join(all, " AND "), args
}

// Readings gives the readings asked for, by time, then in the order they came.
func (s *Store) Readings(ctx context.Context, q Query) ([]sensors.Reading, error) {
	where, args := q.terms()
	// CROSS JOIN: spots first, they are few, and then the span of each.
	query := `SELECT r.id, s.source, s.place, s.boat, r.at, r.key, r.late, r.measured, r.flags, r.raw
		FROM spots s CROSS JOIN readings r ON r.spot = s.id` + where
	each, before := q.Each.Milliseconds(), q.Before.Milliseconds()
	switch {
	case q.Each > q.Before && !q.From.IsZero() && !q.To.IsZero():
		// Only what is near a multiple is touched.
		query = `WITH RECURSIVE multiples (x) AS (SELECT ? UNION ALL SELECT x + ? FROM multiples WHERE x < ?)
			SELECT r.id, s.source, s.place, s.boat, r.at, r.key, r.late, r.measured, r.flags, r.raw
			FROM spots s CROSS JOIN multiples m CROSS JOIN readings r ON r.spot = s.id AND r.at BETWEEN m.x - ? AND m.x` + where
		args = append([]any{millis(q.From) / each * each, each, millis(q.To) + before, before}, args...)
	case q.Each > 0 && where == "":
		query, args = query+` WHERE (r.at + ?) % ? <= ?`, []any{before, each, before}
	case q.Each > 0:
		query, args = query+` AND (r.at + ?) % ? <= ?`, append(args, before, each, before)
	}
	if q.Limit > 0 {
		query, args = query+` ORDER BY r.at DESC, r.id DESC LIMIT ?`, append(args, q.Limit)
	}
	rows, err := s.reader.QueryContext(ctx, query, args...)
	names := map[string]string{}
	readings, err := collect(rows, err, func(rows *sql.Rows) (sensors.Reading, error) { return scanReading(rows, names) })
	slices.SortFunc(readings, func(a, b sensors.Reading) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID)) })
	return readings, err
}

// scanReading reads a row; equal names share their text.
func scanReading(rows *sql.Rows, names map[string]string) (sensors.Reading, error) {
	var r sensors.Reading
	var source, place, boat, key, measured, flags sql.RawBytes
	var raw sql.NullString
	var at, late int64
	if err := rows.Scan(&r.ID, &source, &place, &boat, &at, &key, &late, &measured, &flags, &raw); err != nil {
		return r, err
	}
	shared := func(text []byte) string {
		name, ok := names[string(text)]
		if !ok {
			name = string(text)
			names[name] = name
		}
		return name
	}
	r.Source, r.Place, r.Boat, r.Raw = shared(source), shared(place), shared(boat), raw.String
	r.At, r.Received, r.Key = fromMillis(at), fromMillis(at+late), unpackKey(key, r.Source, at)
	if err := unpackValues(measured, &r); err != nil {
		return r, fmt.Errorf("reading %d: %w", r.ID, err)
	}
	if flags != nil {
		if err := json.Unmarshal(flags, &r.Flags); err != nil {
			return r, fmt.Errorf("flags of reading %d: %w", r.ID, err)
		}
	}
	return r, nil
}
