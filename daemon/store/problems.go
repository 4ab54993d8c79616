package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"fairwindow/planner"
)

// partFrom is the size from which a field of a problem is kept as a part of
// its own, bytes. One problem differs little from the next: the yard, the
// boats and mostly the weather are the same, and so stored once.
const partFrom = 2 << 10

// canonical is the one JSON text of a problem: no spaces, fields by name.
func canonical(p planner.Problem) (text []byte, fields map[string]json.RawMessage, err error) {
	form, err := json.Marshal(p)
	if err != nil {
		return nil, nil, fmt.Errorf("the problem has no JSON form: %w", err)
	}
	if err := json.Unmarshal(form, &fields); err != nil {
		return nil, nil, err
	}
	text, err = json.Marshal(fields)
	return text, fields, err
}

// insertProblem keeps a problem under its hash, unless it is there.
func (s *Store) insertProblem(tx *sql.Tx, p planner.Problem) (string, error) {
	text, fields, err := canonical(p)
	if err != nil {
		return "", err
	}
	hash := digest(text)
	parts := map[string]json.RawMessage{}
	for name, field := range fields {
		if len(field) >= partFrom {
			parts[name] = field
			delete(fields, name)
		}
	}
	rest, err := json.Marshal(fields)
	if err != nil {
		return "", err
	}
	result, err := tx.Exec(`INSERT INTO problems (hash, rest) VALUES (?, ?) ON CONFLICT (hash) DO NOTHING`, hash, s.packer.pack(rest))
	if err != nil {
		return "", fmt.Errorf("problem: %w", err)
	}
	if fresh, err := result.RowsAffected(); err != nil || fresh == 0 {
		return hash, err
	}
	for name, field := range parts {
		part := digest(field)
		if _, err := tx.Exec(`INSERT INTO parts (hash, body) SELECT ?1, ?2 WHERE NOT EXISTS (SELECT 1 FROM parts WHERE hash = ?1)`,
			part, s.packer.pack(field)); err != nil {
			return "", fmt.Errorf("problem: %w", err)
		}
		if _, err := tx.Exec(`INSERT INTO problem_parts (problem, field, part) VALUES (?, ?, ?)`, hash, name, part); err != nil {
			return "", fmt.Errorf("problem: %w", err)
		}
	}
	return hash, nil
}

// Problem gives the problem with a hash, byte for byte what the plan was made
// from; a damaged one is an error.
func (s *Store) Problem(ctx context.Context, hash string) (planner.Problem, error) {
	var p planner.Problem
	text, err := s.problemText(ctx, hash)
	if err != nil {
		return p, err
	}
	if err := json.Unmarshal(text, &p); err != nil {
		return p, fmt.Errorf("problem %s: %w", hash, err)
	}
	return p, nil
}

// problemText puts the canonical text of a problem together again.
func (s *Store) problemText(ctx context.Context, hash string) ([]byte, error) {
	// One statement, so that no pruning falls between the rows.
	rows, err := s.reader.QueryContext(ctx, `SELECT '', rest FROM problems WHERE hash = ?1
		UNION ALL SELECT field, body FROM problem_parts JOIN parts ON parts.hash = part WHERE problem = ?1`, hash)
	type piece struct {
		field string
		text  []byte
	}
	pieces, err := collect(rows, err, func(rows *sql.Rows) (piece, error) {
		var p piece
		var packed []byte
		err := rows.Scan(&p.field, &packed)
		if err == nil {
			p.text, err = s.packer.unpack(packed)
		}
		return p, err
	})
	if err != nil {
		return nil, fmt.Errorf("problem %s: %w", hash, err)
	}
	if len(pieces) == 0 {
		return nil, fmt.Errorf("there is no problem %s", hash)
	}
	fields := map[string]json.RawMessage{}
	for _, p := range pieces {
		if p.field != "" {
			fields[p.field] = p.text
		} else if err := json.Unmarshal(p.text, &fields); err != nil {
			return nil, fmt.Errorf("problem %s: %w", hash, err)
		}
	}
	text, err := json.Marshal(fields)
	if err == nil && digest(text) != hash {
		err = errors.New("it is damaged: its content has another hash; restore a backup")
	}
	if err != nil {
		return nil, fmt.Errorf("problem %s: %w", hash, err)
	}
	return text, nil
}
