package store

import (
	"context"
	"database/sql"
	"time"
)

// Token is a machine's, or the key in a calendar's address.
type Token struct {
	ID      int64
	Print   []byte
	Name    string
	Scopes  string // words with blanks between
	Owner   string // the person whose it is; empty: the yard's
	By      string
	At      time.Time
	Used    time.Time // lately, not to the minute; zero: never
	Revoked time.Time // zero: it holds
}

// MakeToken keeps a token.
func (s *Store) MakeToken(ctx context.Context, t Token, by Signature) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		if _, err := tx.Exec(`INSERT INTO tokens (print, name, scopes, owner, by, at) VALUES (?, ?, ?, ?, ?, ?)`,
			t.Print, t.Name, t.Scopes, t.Owner, t.By, millis(t.At)); err != nil {
			return err
		}
		return sign(tx, t.At, by)
	})
}

const tokenColumns = `id, print, name, scopes, owner, by, at, used, revoked`

func scanToken(rows *sql.Rows) (Token, error) {
	var t Token
	var at int64
	var used, revoked sql.NullInt64
	err := rows.Scan(&t.ID, &t.Print, &t.Name, &t.Scopes, &t.Owner, &t.By, &at, &used, &revoked)
	t.At, t.Used, t.Revoked = fromMillis(at), fromMaybeMillis(used), fromMaybeMillis(revoked)
	return t, err
}

// Token is the one of a print, revoked or not; false: there is none.
func (s *Store) Token(ctx context.Context, print []byte) (Token, bool, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT `+tokenColumns+` FROM tokens WHERE print = ?`, print)
	all, err := collect(rows, err, scanToken)
	if err != nil || len(all) == 0 {
		return Token{}, false, err
	}
	return all[0], true, nil
}

// Tokens gives all, those that hold first, the latest first.
func (s *Store) Tokens(ctx context.Context) ([]Token, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT `+tokenColumns+` FROM tokens ORDER BY revoked IS NOT NULL, at DESC, id DESC LIMIT 500`)
	return collect(rows, err, scanToken)
}

// UsedToken notes that a token is in use.
func (s *Store) UsedToken(ctx context.Context, id int64, at time.Time) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.Exec(`UPDATE tokens SET used = ? WHERE id = ?`, millis(at), id)
		return err
	})
}

// RevokeToken ends a token, of an owner unless that is empty. False: there is none that holds.
func (s *Store) RevokeToken(ctx context.Context, id int64, owner string, at time.Time, by Signature) (bool, error) {
	return unlessOvertaken(s.write(ctx, func(tx *sql.Tx) error {
		if err := one(tx.Exec(`UPDATE tokens SET revoked = ? WHERE id = ? AND revoked IS NULL AND (? = '' OR owner = ?)`, millis(at), id, owner, owner)); err != nil {
			return err
		}
		return sign(tx, at, by)
	}))
}
