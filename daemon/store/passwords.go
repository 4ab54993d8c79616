package store

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// Invitation lets a person set his password, by a word whose print it is.
type Invitation struct {
	Person string
	Print  []byte
	By     string
	At     time.Time
	Until  time.Time
}

// errOvertaken says that what a step built on is no longer so.
var errOvertaken = errors.New("something else was first")

// unlessOvertaken tells an overtaken step from one that failed.
func unlessOvertaken(err error) (bool, error) {
	if errors.Is(err, errOvertaken) {
		return false, nil
	}
	return err == nil, err
}

// Password is what is kept of a person's; empty: nothing.
func (s *Store) Password(ctx context.Context, person string) (string, error) {
	var phc string
	err := s.reader.QueryRowContext(ctx, `SELECT phc FROM passwords WHERE person = ?`, person).Scan(&phc)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return phc, err
}

// HavePasswords gives who has set one.
func (s *Store) HavePasswords(ctx context.Context) (map[string]bool, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT person FROM passwords`)
	all, err := collect(rows, err, func(rows *sql.Rows) (string, error) {
		var one string
		err := rows.Scan(&one)
		return one, err
	})
	have := map[string]bool{}
	for _, one := range all {
		have[one] = true
	}
	return have, err
}

// Invite keeps an invitation; an earlier one of the person is void.
func (s *Store) Invite(ctx context.Context, i Invitation, by Signature) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.Exec(`INSERT INTO invitations (person, print, by, at, until) VALUES (?, ?, ?, ?, ?)
			ON CONFLICT (person) DO UPDATE SET print = excluded.print, by = excluded.by, at = excluded.at, until = excluded.until`,
			i.Person, i.Print, i.By, millis(i.At), millis(i.Until))
		if err != nil {
			return err
		}
		return sign(tx, i.At, by)
	})
}

// Invitations gives those that hold at a time.
func (s *Store) Invitations(ctx context.Context, at time.Time) ([]Invitation, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT person, print, by, at, until FROM invitations WHERE until > ? ORDER BY person`, millis(at))
	return collect(rows, err, func(rows *sql.Rows) (Invitation, error) {
		var i Invitation
		var made, until int64
		err := rows.Scan(&i.Person, &i.Print, &i.By, &made, &until)
		i.At, i.Until = fromMillis(made), fromMillis(until)
		return i, err
	})
}

// AcceptInvitation sets the password of the person whose invitation it is, uses the
// invitation up and ends the person's sessions. False: it holds no more.
func (s *Store) AcceptInvitation(ctx context.Context, print []byte, person, phc string, at time.Time, by Signature) (bool, error) {
	return unlessOvertaken(s.write(ctx, func(tx *sql.Tx) error {
		if err := one(tx.Exec(`DELETE FROM invitations WHERE print = ? AND person = ? AND until > ?`, print, person, millis(at))); err != nil {
			return err
		}
		if err := setPassword(tx, person, phc, at); err != nil {
			return err
		}
		return sign(tx, at, by)
	}))
}

// ChangePassword puts one in the place of another and ends the person's sessions. False: the
// other was no longer the kept one.
func (s *Store) ChangePassword(ctx context.Context, person, was, phc string, at time.Time, by Signature) (bool, error) {
	return unlessOvertaken(s.write(ctx, func(tx *sql.Tx) error {
		if err := one(tx.Exec(`UPDATE passwords SET at = at WHERE person = ? AND phc = ?`, person, was)); err != nil {
			return err
		}
		if err := setPassword(tx, person, phc, at); err != nil {
			return err
		}
		return sign(tx, at, by)
	}))
}

func setPassword(tx *sql.Tx, person, phc string, at time.Time) error {
	if _, err := tx.Exec(`INSERT INTO passwords (person, phc, at) VALUES (?, ?, ?)
		ON CONFLICT (person) DO UPDATE SET phc = excluded.phc, at = excluded.at`, person, phc, millis(at)); err != nil {
		return err
	}
	_, err := tx.Exec(`DELETE FROM sessions WHERE person = ?`, person)
	return err
}

// KeepDearer keeps the same password at today's cost.
func (s *Store) KeepDearer(ctx context.Context, person, was, phc string) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.Exec(`UPDATE passwords SET phc = ? WHERE person = ? AND phc = ?`, phc, person, was)
		return err
	})
}

// ShutOut takes a person's password, invitation, sessions and calendar keys from him.
func (s *Store) ShutOut(ctx context.Context, person string, at time.Time, by Signature) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		for _, q := range []string{`DELETE FROM passwords WHERE person = ?`, `DELETE FROM invitations WHERE person = ?`, `DELETE FROM sessions WHERE person = ?`} {
			if _, err := tx.Exec(q, person); err != nil {
				return err
			}
		}
		if _, err := tx.Exec(`UPDATE tokens SET revoked = ? WHERE owner = ? AND revoked IS NULL`, millis(at), person); err != nil {
			return err
		}
		return sign(tx, at, by)
	})
}

// one asks that a statement changed one row.
func one(result sql.Result, err error) error {
	if err != nil {
		return err
	}
	n, err := result.RowsAffected()
	if err == nil && n != 1 {
		return errOvertaken
	}
	return err
}
