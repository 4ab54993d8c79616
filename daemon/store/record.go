package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"

	"fairwindow/daemon/record"
)

// NewSignature is one to keep, with the record as it was signed.
type NewSignature struct {
	record.Signature
	Record []byte // canonical; none of a record that is opened again
}

// insertRecord keeps what a change adds to the records of coats.
func (s *Store) insertRecord(tx *sql.Tx, c Change, done *Committed) error {
	for digest, terms := range c.Terms {
		if _, err := tx.Exec(`INSERT INTO terms (digest, body) VALUES (?, ?) ON CONFLICT DO NOTHING`, digest, s.packer.pack(terms)); err != nil {
			return fmt.Errorf("terms %s: %w", digest, err)
		}
	}
	for _, e := range c.Entries {
		body, err := json.Marshal(e)
		if err != nil {
			return fmt.Errorf("entry on %v: %w", e.Key, err)
		}
		id, err := inserted(tx.Exec(`INSERT INTO entries (boat, area, stage, at, entered, by, once, strikes, entry)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (once) DO NOTHING`,
			e.Key.Boat, e.Key.Area, e.Key.Stage, millis(e.At), millis(e.Entered), e.By, maybeText(e.Once), maybeID(e.Strikes), string(body)))
		if err != nil {
			return fmt.Errorf("entry on %v: %w", e.Key, err)
		}
		if e.ID = id; id > 0 {
			done.Entries = append(done.Entries, e)
		}
	}
	for _, g := range c.Signed {
		var body []byte
		if len(g.Record) > 0 {
			if record.Sum(g.Record) != g.Digest {
				return fmt.Errorf("signature under %v: the digest is not that of the record", g.Key)
			}
			body = s.packer.pack(g.Record)
		}
		id, err := inserted(tx.Exec(`INSERT INTO sign_offs (boat, area, stage, act, by, role, at, remark, digest, once, body)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (once) DO NOTHING`,
			g.Key.Boat, g.Key.Area, g.Key.Stage, g.Act, g.By, g.Role, millis(g.At), g.Remark, g.Digest, maybeText(g.Once), body))
		if err != nil {
			return fmt.Errorf("signature under %v: %w", g.Key, err)
		}
		if g.ID = id; id > 0 {
			done.Signed = append(done.Signed, g.Signature)
		}
	}
	return nil
}

// inserted is the new row's ID; 0 where the row was there already.
func inserted(result sql.Result, err error) (int64, error) {
	if err != nil {
		return 0, err
	}
	if fresh, err := result.RowsAffected(); err != nil || fresh == 0 {
		return 0, err
	}
	return result.LastInsertId()
}

func maybeID(id int64) sql.NullInt64 { return sql.NullInt64{Int64: id, Valid: id != 0} }

// Entries gives what people entered of a boat's coats, in the order it came.
func (s *Store) Entries(ctx context.Context, boat string) ([]record.Entry, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT id, entry FROM entries WHERE boat = ? ORDER BY id`, boat)
	return collect(rows, err, func(rows *sql.Rows) (record.Entry, error) {
		var e record.Entry
		var id int64
		var body []byte
		if err := rows.Scan(&id, &body); err != nil {
			return e, err
		}
		if err := json.Unmarshal(body, &e); err != nil {
			return e, fmt.Errorf("entry %d: %w", id, err)
		}
		e.ID = id
		return e, nil
	})
}

// SignOffs gives those of all boats, in the order they were made.
func (s *Store) SignOffs(ctx context.Context) ([]record.Signature, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT id, boat, area, stage, act, by, role, at, remark, digest, once FROM sign_offs ORDER BY id`)
	return collect(rows, err, func(rows *sql.Rows) (record.Signature, error) {
		var g record.Signature
		var at int64
		var once sql.NullString
		err := rows.Scan(&g.ID, &g.Key.Boat, &g.Key.Area, &g.Key.Stage, &g.Act, &g.By, &g.Role, &at, &g.Remark, &g.Digest, &once)
		g.At, g.Once = fromMillis(at), once.String
		return g, err
	})
}

// SignedRecord is the record as a signature has it.
func (s *Store) SignedRecord(ctx context.Context, id int64) ([]byte, error) {
	var packed []byte
	if err := s.reader.QueryRowContext(ctx, `SELECT body FROM sign_offs WHERE id = ? AND body IS NOT NULL`, id).Scan(&packed); err != nil {
		return nil, fmt.Errorf("the record under signature %d: %w", id, err)
	}
	return s.packer.unpack(packed)
}

// Terms gives the JSON of the cards and limits that were in force for coats, by digest.
func (s *Store) Terms(ctx context.Context, digests map[string]bool) (map[string]json.RawMessage, error) {
	all := map[string]json.RawMessage{}
	for digest := range digests {
		var packed []byte
		if err := s.reader.QueryRowContext(ctx, `SELECT body FROM terms WHERE digest = ?`, digest).Scan(&packed); err != nil {
			return nil, fmt.Errorf("terms %s: %w", digest, err)
		}
		text, err := s.packer.unpack(packed)
		if err != nil {
			return nil, fmt.Errorf("terms %s: %w", digest, err)
		}
		all[digest] = text
	}
	return all, nil
}
