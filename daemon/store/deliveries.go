package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"fairwindow/notify"
)

// Delivered is one delivery as it stands.
type Delivered struct {
	notify.Told
	Letter string    // empty: never tried
	Begun  time.Time // when its letter was first tried
	Retry  time.Time // not before this; zero: at once
	Tries  int
	Sent   time.Time
	Error  string
}

// Open reports whether it is still to go out.
func (d Delivered) Open() bool { return d.Sent.IsZero() && !d.Off }

// Ref names it.
func (d Delivered) Ref() notify.Ref {
	return notify.Ref{ID: d.Notice.ID, Revision: d.Notice.Revision, Person: d.Person, Way: d.Way}
}

// insertDeliveries keeps what people are to be told; one that is known stays as it was.
func insertDeliveries(tx *sql.Tx, all []notify.Delivery) error {
	for _, d := range all {
		if d.Answer == notify.Nothing {
			continue
		}
		if _, err := tx.Exec(`INSERT INTO deliveries (id, revision, person, way, due, why) VALUES (?, ?, ?, ?, ?, ?)
			ON CONFLICT (id, revision, person, way) DO NOTHING`,
			d.Notice.ID, d.Notice.Revision, d.Person, d.Way, millis(d.Due), d.Why); err != nil {
			return fmt.Errorf("delivery of %s to %s: %w", d.Notice.ID, d.Person, err)
		}
	}
	return nil
}

const ofRef = ` WHERE id = ? AND revision = ? AND person = ? AND way = ?`

// changeDeliveries drops and hastens what was never tried.
func changeDeliveries(tx *sql.Tx, dropped []notify.Dropped, hastened []notify.Moved, at time.Time) error {
	for _, d := range dropped {
		if _, err := tx.Exec(`UPDATE deliveries SET withdrawn = ?, ground = ?`+ofRef+` AND letter IS NULL AND withdrawn IS NULL`,
			millis(at), d.Why, d.ID, d.Revision, d.Person, d.Way); err != nil {
			return fmt.Errorf("delivery of %s to %s: %w", d.ID, d.Person, err)
		}
	}
	for _, h := range hastened {
		if _, err := tx.Exec(`UPDATE deliveries SET due = ?`+ofRef+` AND letter IS NULL`,
			millis(h.Due), h.ID, h.Revision, h.Person, h.Way); err != nil {
			return fmt.Errorf("delivery of %s to %s: %w", h.ID, h.Person, err)
		}
	}
	return nil
}

// selectDeliveries names its rows first, each lot by its index: asked for with OR, SQLite looks
// through all that was ever told, and whoever has the turn waits for it.
const selectDeliveries = `SELECT n.notice, d.person, d.way, d.due, d.why, d.letter, d.begun, d.retry, d.tries, d.sent,
	d.withdrawn IS NOT NULL, d.error, EXISTS (SELECT 1 FROM heard h WHERE h.id = d.id AND h.revision >= d.revision)
	FROM deliveries d JOIN notices n ON n.id = d.id AND n.revision = d.revision
	WHERE d.seq IN (SELECT seq FROM deliveries WHERE sent IS NULL AND withdrawn IS NULL
		UNION ALL SELECT l.seq FROM notices late JOIN deliveries l ON l.id = late.id AND l.revision = late.revision WHERE late.at >= ?)
	ORDER BY d.seq`

// Deliveries gives those of notices issued since a time, and all that are still to go out, in
// the order in which they were asked for.
func (s *Store) Deliveries(ctx context.Context, since time.Time) ([]Delivered, error) {
	rows, err := s.reader.QueryContext(ctx, selectDeliveries, millis(since))
	return collect(rows, err, func(rows *sql.Rows) (Delivered, error) {
		var d Delivered
		var body []byte
		var due int64
		var letter, fault sql.NullString
		var begun, retry, sent sql.NullInt64
		if err := rows.Scan(&body, &d.Person, &d.Way, &due, &d.Why, &letter, &begun, &retry, &d.Tries, &sent, &d.Off, &fault, &d.Heard); err != nil {
			return d, err
		}
		d.Due, d.Letter, d.Tried, d.Error = fromMillis(due), letter.String, letter.Valid, fault.String
		d.Begun, d.Retry, d.Sent = fromMaybeMillis(begun), fromMaybeMillis(retry), fromMaybeMillis(sent)
		return d, json.Unmarshal(body, &d.Notice)
	})
}

// Try notes that a letter is about to be tried, before it is: after a crash the same letter goes
// out again, under the same name.
func (s *Store) Try(ctx context.Context, letter string, refs []notify.Ref, at time.Time) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		for _, r := range refs {
			if _, err := tx.Exec(`UPDATE deliveries SET letter = ?, begun = coalesce(begun, ?), tries = tries + 1`+ofRef,
				letter, millis(at), r.ID, r.Revision, r.Person, r.Way); err != nil {
				return fmt.Errorf("letter %s: %w", letter, err)
			}
		}
		return nil
	})
}

// Outcome is how a try of a letter ended.
type Outcome struct {
	Letter string
	Sent   bool
	Error  string    // if it was not sent
	Retry  time.Time // zero, and not sent: given up
	At     time.Time
}

// ofLetter are the deliveries of a letter that is still to go out: those are found by their index.
const ofLetter = ` WHERE letter = ? AND sent IS NULL AND withdrawn IS NULL`

// Tried notes how a try ended. A letter that was sent stays sent.
func (s *Store) Tried(ctx context.Context, o Outcome) error {
	if o.Letter == "" {
		return errors.New("an outcome needs its letter")
	}
	return s.write(ctx, func(tx *sql.Tx) error {
		var err error
		switch {
		case o.Sent:
			_, err = tx.Exec(`UPDATE deliveries SET sent = ?, error = NULL`+ofLetter, millis(o.At), o.Letter)
		case o.Retry.IsZero():
			_, err = tx.Exec(`UPDATE deliveries SET withdrawn = ?, ground = 'given_up', error = ?`+ofLetter, millis(o.At), o.Error, o.Letter)
		default:
			_, err = tx.Exec(`UPDATE deliveries SET retry = ?, error = ?`+ofLetter, millis(o.Retry), o.Error, o.Letter)
		}
		return err
	})
}

// Heard is who called a notice heard.
type Heard struct {
	ID       string
	Revision int
	By       string
	At       time.Time
}

// errUnknownNotice says that nobody was ever given such a notice.
var errUnknownNotice = errors.New("there is no such notice")

// Hear notes that somebody called a notice heard; the first time counts. False: there is no such notice.
func (s *Store) Hear(ctx context.Context, h Heard, by ...Signature) (bool, error) {
	err := s.write(ctx, func(tx *sql.Tx) error {
		var known int
		if err := tx.QueryRow(`SELECT count(*) FROM notices WHERE id = ? AND revision = ?`, h.ID, h.Revision).Scan(&known); err != nil {
			return err
		}
		if known == 0 {
			return errUnknownNotice
		}
		if _, err := tx.Exec(`INSERT INTO heard (id, revision, by, at) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING`, h.ID, h.Revision, h.By, millis(h.At)); err != nil {
			return err
		}
		return sign(tx, h.At, by...)
	})
	if errors.Is(err, errUnknownNotice) {
		return false, nil
	}
	return err == nil, err
}

// HeardSince gives who called which notice heard since a time, in that order.
func (s *Store) HeardSince(ctx context.Context, since time.Time) ([]Heard, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT id, revision, by, at FROM heard WHERE at >= ?`, millis(since))
	all, err := collect(rows, err, func(rows *sql.Rows) (Heard, error) {
		var h Heard
		var at int64
		err := rows.Scan(&h.ID, &h.Revision, &h.By, &at)
		h.At = fromMillis(at)
		return h, err
	})
	slices.SortStableFunc(all, func(a, b Heard) int {
		if c := a.At.Compare(b.At); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return all, err
}
