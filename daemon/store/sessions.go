package store

import (
	"context"
	"database/sql"
	"time"
)

// Session is a browser in which a person is signed in, by a word whose print it is.
type Session struct {
	ID      int64
	Print   []byte
	Person  string
	Role    string // as it was when he signed in
	Address string
	Device  string
	Begun   time.Time
	Seen    time.Time // lately, not to the minute
}

// BeginSession keeps a session of a person whose kept password is still the one that was
// tried. False: it is not.
func (s *Store) BeginSession(ctx context.Context, n Session, phc string, by ...Signature) (bool, error) {
	return unlessOvertaken(s.write(ctx, func(tx *sql.Tx) error {
		if err := one(tx.Exec(`INSERT INTO sessions (print, person, role, address, device, begun, seen)
			SELECT ?, person, ?, ?, ?, ?, ? FROM passwords WHERE person = ? AND phc = ?`,
			n.Print, n.Role, n.Address, n.Device, millis(n.Begun), millis(n.Begun), n.Person, phc)); err != nil {
			return err
		}
		return sign(tx, n.Begun, by...)
	}))
}

const sessionColumns = `id, print, person, role, address, device, begun, seen`

func scanSession(rows *sql.Rows) (Session, error) {
	var n Session
	var begun, seen int64
	err := rows.Scan(&n.ID, &n.Print, &n.Person, &n.Role, &n.Address, &n.Device, &begun, &seen)
	n.Begun, n.Seen = fromMillis(begun), fromMillis(seen)
	return n, err
}

// Session is the one of a print; false: there is none.
func (s *Store) Session(ctx context.Context, print []byte) (Session, bool, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT `+sessionColumns+` FROM sessions WHERE print = ?`, print)
	all, err := collect(rows, err, scanSession)
	if err != nil || len(all) == 0 {
		return Session{}, false, err
	}
	return all[0], true, nil
}

// Sessions gives a person's, the latest seen first; everybody's for no name.
func (s *Store) Sessions(ctx context.Context, person string) ([]Session, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT `+sessionColumns+` FROM sessions WHERE ? = '' OR person = ? ORDER BY seen DESC, id DESC`, person, person)
	return collect(rows, err, scanSession)
}

// SeenSession notes that a session is in use.
func (s *Store) SeenSession(ctx context.Context, id int64, at time.Time) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.Exec(`UPDATE sessions SET seen = ? WHERE id = ? AND seen < ?`, millis(at), id, millis(at))
		return err
	})
}

// SignOut ends the session of a print or, everywhere, all of its person, and says whose hand it was.
func (s *Store) SignOut(ctx context.Context, n Session, everywhere bool, at time.Time, by ...Signature) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		if _, err := tx.Exec(`DELETE FROM sessions WHERE print = ? OR (? AND person = ?)`, n.Print, everywhere, n.Person); err != nil {
			return err
		}
		return sign(tx, at, by...)
	})
}

// EndSession ends one by its print.
func (s *Store) EndSession(ctx context.Context, print []byte) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.Exec(`DELETE FROM sessions WHERE print = ?`, print)
		return err
	})
}

// SweepSessions forgets those begun or last seen before, and invitations that are over.
func (s *Store) SweepSessions(ctx context.Context, begun, seen, now time.Time) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		if _, err := tx.Exec(`DELETE FROM sessions WHERE begun <= ? OR seen <= ?`, millis(begun), millis(seen)); err != nil {
			return err
		}
		_, err := tx.Exec(`DELETE FROM invitations WHERE until <= ?`, millis(now))
		return err
	})
}
