package store

import (
	"context"
	"database/sql"
	"errors"
	"slices"

	"fairwindow/sensors"
)

// pruner goes through the readings once.
type pruner struct {
	*Store
	before  int64    // the hour up to which they are old
	over    []string // boats whose warranty is over
	known   int64    // the last press that evident counts in
	evident []evidence
}

// evidence are the spans behind all coats as this transaction sees them, those of boats
// whose warranty is over among them.
func (p *pruner) evidence(tx *sql.Tx) ([]evidence, error) {
	var last int64
	if err := tx.QueryRow(`SELECT coalesce(max(id), 0) FROM presses`).Scan(&last); err != nil || last == p.known {
		return p.evident, err
	}
	all, err := touches(tx)
	if err != nil {
		return nil, err
	}
	p.known, p.evident = last, evidenceOf(all)
	return p.evident, nil
}

// prepare reads the evidence before anything is written, so that nobody's commit waits for
// that; a transaction reads it again only where somebody has pressed since.
func (p *pruner) prepare(ctx context.Context) error {
	tx, err := p.reader.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	_, err = p.evidence(tx)
	return errors.Join(err, tx.Rollback())
}

// held are those of boats whose warranty is not over.
func (p *pruner) held(all []evidence) []evidence {
	return slices.DeleteFunc(slices.Clone(all), func(e evidence) bool { return slices.Contains(p.over, e.boat) })
}

func (p *pruner) spots(ctx context.Context) ([]speaker, error) {
	rows, err := p.reader.QueryContext(ctx, `SELECT id, place, boat, folded FROM spots ORDER BY id`)
	return collect(rows, err, func(rows *sql.Rows) (s speaker, err error) { return s, rows.Scan(&s.id, &s.place, &s.boat, &s.folded) })
}

// readings folds the old readings into hours and deletes what is no evidence, spot
// by spot from where it last ended, a chunk of whole hours at a time.
func (p *pruner) readings(ctx context.Context, deleted *Deleted) error {
	spots, err := p.spots(ctx)
	if err != nil {
		return err
	}
	for _, of := range spots {
		for more := true; more; {
			var gone int64
			err := p.write(ctx, func(tx *sql.Tx) (err error) {
				gone, more, err = p.chunk(tx, of)
				return err
			})
			if err != nil {
				return err
			}
			deleted.Readings += gone
		}
	}
	return nil
}

// chunk does one chunk of a spot; more: there may be another.
func (p *pruner) chunk(tx *sql.Tx, of speaker) (gone int64, more bool, err error) {
	var from int64
	if err := tx.QueryRow(`SELECT folded FROM spots WHERE id = ?`, of.id).Scan(&from); err != nil || from >= p.before {
		return 0, false, err
	}
	// The chunk ends with a whole hour, which may hold more than a chunk.
	to := p.before
	var last sql.NullInt64
	if err := tx.QueryRow(`SELECT at FROM readings WHERE spot = ? AND at >= ? AND at < ? ORDER BY at LIMIT 1 OFFSET ?`,
		of.id, from, to, pruneChunk).Scan(&last); err != nil && !errors.Is(err, sql.ErrNoRows) {
		return 0, false, err
	}
	if last.Valid {
		var first int64
		if err := tx.QueryRow(`SELECT min(at) FROM readings WHERE spot = ? AND at >= ?`, of.id, from).Scan(&first); err != nil {
			return 0, false, err
		}
		to = max(hourOf(last.Int64), hourOf(first)+hourMillis)
	}
	rows, err := tx.Query(`SELECT r.id, s.source, s.place, s.boat, r.at, r.key, r.late, r.measured, r.flags, NULL
		FROM spots s CROSS JOIN readings r ON r.spot = s.id WHERE s.id = ? AND r.at >= ? AND r.at < ? ORDER BY r.at, r.id`, of.id, from, to)
	names := map[string]string{}
	readings, err := collect(rows, err, func(rows *sql.Rows) (sensors.Reading, error) { return scanReading(rows, names) })
	if err != nil {
		return 0, false, err
	}
	if err := fold(tx, of.id, readings); err != nil {
		return 0, false, err
	}
	all, err := p.evidence(tx)
	if err != nil {
		return 0, false, err
	}
	for _, f := range of.free(from, to, p.held(all)) {
		result, err := tx.Exec(`DELETE FROM readings WHERE spot = ? AND at >= ? AND at < ?`, of.id, f.from, f.to)
		if err != nil {
			return 0, false, err
		}
		n, err := result.RowsAffected()
		if err != nil {
			return 0, false, err
		}
		gone += n
	}
	_, err = tx.Exec(`UPDATE spots SET folded = ? WHERE id = ?`, to, of.id)
	return gone, to < p.before, err
}

// letGo deletes what was kept behind the coats of boats whose warranty is over and is no
// other boat's evidence; once, for it is noted how far. The hours have summed it up.
func (p *pruner) letGo(ctx context.Context, deleted *Deleted) error {
	var all, held []evidence
	var upTo map[string]int64
	err := p.write(ctx, func(tx *sql.Tx) (err error) {
		if upTo, err = p.letGoOf(tx); err == nil {
			all, err = p.evidence(tx)
		}
		return err
	})
	if err != nil {
		return err
	}
	spots, err := p.spots(ctx)
	if err != nil {
		return err
	}
	held = p.held(all)
	for _, e := range all {
		if done, ok := upTo[e.boat]; !slices.Contains(p.over, e.boat) || ok && min(e.to, p.before) <= done {
			continue
		}
		for _, of := range spots {
			if !of.speaksOf(e) {
				continue
			}
			for _, f := range of.free(e.from, min(e.to, p.before, of.folded), held) {
				err := p.deleteAll(ctx, &deleted.Readings, `DELETE FROM readings WHERE (spot, at, key) IN
					(SELECT spot, at, key FROM readings WHERE spot = ? AND at >= ? AND at < ? LIMIT ?)`, of.id, f.from, f.to, pruneChunk)
				if err != nil {
					return err
				}
			}
		}
	}
	return p.write(ctx, func(tx *sql.Tx) error {
		for _, boat := range p.over {
			if _, err := tx.Exec(`INSERT INTO warranty_over (boat, upto) VALUES (?, ?)
				ON CONFLICT DO UPDATE SET upto = max(upto, excluded.upto)`, boat, p.before); err != nil {
				return err
			}
		}
		return nil
	})
}

// letGoOf is up to when boats' evidence was let go of; those whose warranty goes on again
// are forgotten.
func (p *pruner) letGoOf(tx *sql.Tx) (map[string]int64, error) {
	upTo := map[string]int64{}
	rows, err := tx.Query(`SELECT boat, upto FROM warranty_over`)
	_, err = collect(rows, err, func(rows *sql.Rows) (boat string, err error) {
		var at int64
		err = rows.Scan(&boat, &at)
		upTo[boat] = at
		return boat, err
	})
	if err != nil {
		return nil, err
	}
	for boat := range upTo {
		if !slices.Contains(p.over, boat) {
			if _, err := tx.Exec(`DELETE FROM warranty_over WHERE boat = ?`, boat); err != nil {
				return nil, err
			}
		}
	}
	return upTo, nil
}
