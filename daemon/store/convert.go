package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// convertChunk is how many readings are moved in one transaction.
const convertChunk = 5000

// convert moves the readings of an older file to where they are kept now, under their
// own numbers. It can be broken off at any time, and goes on at the next start.
func (s *Store) convert(ctx context.Context) error {
	var there int
	if err := s.writer.QueryRow(`SELECT count(*) FROM sqlite_schema WHERE name = 'readings_long'`).Scan(&there); err != nil || there == 0 {
		return err
	}
	for moved := convertChunk; moved == convertChunk; {
		err := s.write(ctx, func(tx *sql.Tx) (err error) {
			moved, err = moveLong(tx)
			return err
		})
		if err != nil {
			return fmt.Errorf("move the readings of an older file: %w", err)
		}
	}
	return s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.Exec(`DROP TABLE readings_long`)
		return err
	})
}

// moveLong moves the first of them and says how many.
func moveLong(tx *sql.Tx) (int, error) {
	rows, err := tx.Query(`SELECT id, key, source, place, boat, at, received, from_device, measured, flags, raw
		FROM readings_long ORDER BY id LIMIT ?`, convertChunk)
	long, err := collect(rows, err, scanLong)
	if err != nil {
		return 0, err
	}
	spots := map[spotName]*spot{}
	for _, r := range long {
		name := spotName{r.Source, r.Place, r.Boat}
		if spots[name] == nil {
			if spots[name], err = findSpot(tx, name); err != nil {
				return 0, err
			}
		}
		flags, err := packFlags(r.Flags)
		if err != nil {
			return 0, err
		}
		at := millis(r.At)
		if _, err := tx.Exec(`INSERT INTO readings (spot, at, key, id, late, measured, flags, raw) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
			spots[name].id, at, packKey(r.Key, r.Source, at), r.ID, millis(r.Received)-at, packValues(r), flags, maybeText(r.Raw)); err != nil {
			return 0, fmt.Errorf("reading %d: %w", r.ID, err)
		}
	}
	if n := len(long); n > 0 {
		_, err = tx.Exec(`DELETE FROM readings_long WHERE id <= ?`, long[n-1].ID)
	}
	return len(long), err
}

func scanLong(rows *sql.Rows) (sensors.Reading, error) {
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
