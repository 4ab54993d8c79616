package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// NewForecast is what was made of a forecast document, and the document.
type NewForecast struct {
	Forecast sensors.Forecast
	Raw      []byte
}

// forecastBody is what of a forecast has no column.
type forecastBody struct {
	Points []conditions.Weather `json:"points"`
	Flags  []sensors.Flag       `json:"flags,omitempty"`
}

// insertForecasts keeps forecasts. One that is fetched again keeps its first
// time of receipt; an issue whose values were corrected is kept beside the old one.
func (s *Store) insertForecasts(tx *sql.Tx, forecasts []NewForecast, done *Committed) error {
	for _, n := range forecasts {
		f := n.Forecast
		if f.Source == "" || f.Issued.IsZero() || f.Received.IsZero() {
			return fmt.Errorf("a forecast needs a source, a time of issue and of receipt; it has %q, %v and %v", f.Source, f.Issued, f.Received)
		}
		body, err := json.Marshal(forecastBody{Points: f.Points, Flags: f.Flags})
		if err != nil {
			return fmt.Errorf("forecast of %q: %w", f.Source, err)
		}
		sum, issued := digest(body), millis(f.Issued)
		if _, err := tx.Exec(`INSERT INTO forecasts (source, issued, received, digest, body, raw) VALUES (?, ?, ?, ?, ?, ?)
			ON CONFLICT (source, issued, digest) DO NOTHING`,
			f.Source, issued, millis(f.Received), sum, s.packer.pack(body), s.packer.pack(n.Raw)); err != nil {
			return fmt.Errorf("forecast of %q: %w", f.Source, err)
		}
		var id int64
		if err := tx.QueryRow(`SELECT id FROM forecasts WHERE source = ? AND issued = ? AND digest = ?`,
			f.Source, issued, sum).Scan(&id); err != nil {
			return fmt.Errorf("forecast of %q: %w", f.Source, err)
		}
		done.Forecasts = append(done.Forecasts, id)
	}
	return nil
}

const selectForecast = `SELECT source, issued, received, body FROM forecasts `

// LatestForecasts gives the newest issue of each source, by source; of one
// issue that was corrected, the latest correction.
func (s *Store) LatestForecasts(ctx context.Context) ([]sensors.Forecast, error) {
	rows, err := s.reader.QueryContext(ctx, selectForecast+`WHERE id IN (
		SELECT (SELECT id FROM forecasts f WHERE f.source = sources.source ORDER BY issued DESC, id DESC LIMIT 1)
		FROM (SELECT DISTINCT source FROM forecasts) sources) ORDER BY source`)
	return collect(rows, err, s.scanForecast)
}

// Issues gives, of the forecasts issued in a half-open span, the newest of each source
// in each so many hours; by time of issue. Of one issue that was corrected it is the
// latest correction.
func (s *Store) Issues(ctx context.Context, from, to time.Time, each time.Duration) ([]sensors.Forecast, error) {
	rows, err := s.reader.QueryContext(ctx, selectForecast+`WHERE id IN (SELECT id FROM (
		SELECT id, row_number() OVER (PARTITION BY source, issued / ?3 ORDER BY issued DESC, id DESC) AS nth
		FROM forecasts WHERE issued >= ?1 AND issued < ?2) WHERE nth = 1) ORDER BY issued, source`,
		millis(from), millis(to), each.Milliseconds())
	return collect(rows, err, s.scanForecast)
}

// Forecast gives one forecast by its ID.
func (s *Store) Forecast(ctx context.Context, id int64) (sensors.Forecast, error) {
	rows, err := s.reader.QueryContext(ctx, selectForecast+`WHERE id = ?`, id)
	found, err := collect(rows, err, s.scanForecast)
	if err != nil {
		return sensors.Forecast{}, err
	}
	if len(found) == 0 {
		return sensors.Forecast{}, fmt.Errorf("there is no forecast %d", id)
	}
	return found[0], nil
}

func (s *Store) scanForecast(rows *sql.Rows) (sensors.Forecast, error) {
	var f sensors.Forecast
	var issued, received int64
	var packed []byte
	if err := rows.Scan(&f.Source, &issued, &received, &packed); err != nil {
		return f, err
	}
	f.Issued, f.Received = fromMillis(issued), fromMillis(received)
	text, err := s.packer.unpack(packed)
	if err != nil {
		return f, fmt.Errorf("forecast of %q: %w", f.Source, err)
	}
	var body forecastBody
	if err := json.Unmarshal(text, &body); err != nil {
		return f, fmt.Errorf("forecast of %q: %w", f.Source, err)
	}
	f.Points, f.Flags = body.Points, body.Flags
	return f, nil
}
