package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// Whole says what a reading lacks without which it can't be kept; nil: nothing.
func Whole(r sensors.Reading) error {
	if r.Key == "" || r.At.IsZero() || r.Received.IsZero() {
		return fmt.Errorf("a reading of %q needs a key, a time and a time of receipt; it has key %q, %v and %v", r.Source, r.Key, r.At, r.Received)
	}
	return nil
}

// insertReadings keeps the readings whose key is new.
func insertReadings(tx *sql.Tx, readings []sensors.Reading, done *Committed) error {
	if len(readings) == 0 {
		return nil
	}
	insert, err := tx.Prepare(`INSERT INTO readings
		(key, source, place, boat, at, received, from_device, measured, flags, raw)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (key) DO NOTHING`)
	if err != nil {
		return err
	}
	defer insert.Close()
	for _, r := range readings {
		if err := Whole(r); err != nil {
			return err
		}
		measured, flags, err := encodeReading(r)
		if err != nil {
			return fmt.Errorf("reading %q: %w", r.Key, err)
		}
		result, err := insert.Exec(r.Key, r.Source, maybeText(r.Place), maybeText(r.Boat),
			millis(r.At), millis(r.Received), r.FromDevice, measured, flags, maybeText(r.Raw))
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
		if r.ID, err = result.LastInsertId(); err != nil {
			return err
		}
		r.At, r.Received = rounded(r.At), rounded(r.Received)
		done.Readings = append(done.Readings, r)
	}
	return nil
}

// encodeReading gives the JSON columns of a reading. A value that is not a
// number is kept too: its flag needs something to point at.
func encodeReading(r sensors.Reading) (measured string, flags sql.NullString, err error) {
	values := make(map[conditions.Variable]number, len(r.Values))
	for v, x := range r.Values {
		values[v] = number(x)
	}
	text, err := json.Marshal(values)
	if err != nil || len(r.Flags) == 0 {
		return string(text), sql.NullString{}, err
	}
	doubts, err := json.Marshal(r.Flags)
	return string(text), maybeText(string(doubts)), err
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

// Readings gives the readings asked for, by time, then in the order they came.
func (s *Store) Readings(ctx context.Context, q Query) ([]sensors.Reading, error) {
	var where []string
	var args []any
	narrow := func(on bool, term string, values ...any) {
		if on {
			where, args = append(where, term), append(args, values...)
		}
	}
	narrow(q.Place != "", "place = ?", q.Place)
	narrow(q.Boat != "", "boat = ?", q.Boat)
	narrow(q.Source != "", "source = ?", q.Source)
	narrow(!q.From.IsZero(), "at >= ?", millis(q.From))
	narrow(!q.To.IsZero(), "at < ?", millis(q.To))
	before := q.Before.Milliseconds()
	narrow(q.Each > 0, "(at + ?) % ? <= ?", before, q.Each.Milliseconds(), before)
	query := `SELECT id, key, source, place, boat, at, received, from_device, measured, flags, raw FROM readings`
	if len(where) > 0 {
		query += " WHERE " + strings.Join(where, " AND ")
	}
	rows, err := s.reader.QueryContext(ctx, query+" ORDER BY at DESC, id DESC LIMIT ?", append(args, limited(q.Limit))...)
	readings, err := collect(rows, err, scanReading)
	slices.Reverse(readings)
	return readings, err
}

// LatestReadings gives every reading since a time, by time, then in the order they came.
func (s *Store) LatestReadings(ctx context.Context, since time.Time) ([]sensors.Reading, error) {
	return s.Readings(ctx, Query{From: since})
}

func scanReading(rows *sql.Rows) (sensors.Reading, error) {
	var r sensors.Reading
	var place, boat, flags, raw sql.NullString
	var at, received int64
	var measured []byte
	if err := rows.Scan(&r.ID, &r.Key, &r.Source, &place, &boat, &at, &received, &r.FromDevice, &measured, &flags, &raw); err != nil {
		return r, err
	}
	r.Place, r.Boat, r.Raw = place.String, boat.String, raw.String
	r.At, r.Received = fromMillis(at), fromMillis(received)
	var values map[conditions.Variable]number
	if err := json.Unmarshal(measured, &values); err != nil {
		return r, fmt.Errorf("reading %d: %w", r.ID, err)
	}
	r.Values = make(map[conditions.Variable]float64, len(values))
	for v, x := range values {
		r.Values[v] = float64(x)
	}
	if flags.Valid {
		if err := json.Unmarshal([]byte(flags.String), &r.Flags); err != nil {
			return r, fmt.Errorf("flags of reading %d: %w", r.ID, err)
		}
	}
	return r, nil
}
