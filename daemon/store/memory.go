package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
)

// setMemory keeps what the guard and the cycle must still know after a crash.
func setMemory(tx *sql.Tx, memory map[string]json.RawMessage) error {
	for name, value := range memory {
		if value == nil {
			if _, err := tx.Exec(`DELETE FROM memory WHERE name = ?`, name); err != nil {
				return fmt.Errorf("memory %q: %w", name, err)
			}
			continue
		}
		if !json.Valid(value) {
			return fmt.Errorf("memory %q is not JSON: %.80q", name, value)
		}
		if _, err := tx.Exec(`INSERT INTO memory (name, value) VALUES (?, ?)
			ON CONFLICT DO UPDATE SET value = excluded.value`, name, string(value)); err != nil {
			return fmt.Errorf("memory %q: %w", name, err)
		}
	}
	return nil
}

// Memory gives all that was kept there, by name.
func (s *Store) Memory(ctx context.Context) (map[string]json.RawMessage, error) {
	memory := map[string]json.RawMessage{}
	rows, err := s.reader.QueryContext(ctx, `SELECT name, value FROM memory`)
	_, err = collect(rows, err, func(rows *sql.Rows) (string, error) {
		var name string
		var value []byte
		err := rows.Scan(&name, &value)
		memory[name] = value
		return name, err
	})
	return memory, err
}
