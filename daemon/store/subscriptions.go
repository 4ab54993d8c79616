package store

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// Subscription is a browser that a person allowed to be rung.
type Subscription struct {
	Person   string
	Endpoint string
	P256dh   string
	Auth     string
	At       time.Time
}

// Subscribe keeps a browser; one that is known now rings for whom it is given.
func (s *Store) Subscribe(ctx context.Context, b Subscription, by ...Signature) error {
	if b.Person == "" || b.Endpoint == "" {
		return errors.New("a subscription needs its person and its endpoint")
	}
	return s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.Exec(`INSERT INTO subscriptions (endpoint, person, p256dh, auth, at) VALUES (?, ?, ?, ?, ?)
			ON CONFLICT (endpoint) DO UPDATE SET person = excluded.person, p256dh = excluded.p256dh, auth = excluded.auth, at = excluded.at`,
			b.Endpoint, b.Person, b.P256dh, b.Auth, millis(b.At))
		if err != nil {
			return err
		}
		return sign(tx, b.At, by...)
	})
}

// Unsubscribe forgets a browser.
func (s *Store) Unsubscribe(ctx context.Context, endpoint string) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.Exec(`DELETE FROM subscriptions WHERE endpoint = ?`, endpoint)
		return err
	})
}

// Subscriptions gives a person's browsers, the first allowed first.
func (s *Store) Subscriptions(ctx context.Context, person string) ([]Subscription, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT endpoint, person, p256dh, auth, at FROM subscriptions WHERE person = ? ORDER BY at, endpoint`, person)
	return collect(rows, err, func(rows *sql.Rows) (Subscription, error) {
		var b Subscription
		var at int64
		err := rows.Scan(&b.Endpoint, &b.Person, &b.P256dh, &b.Auth, &at)
		b.At = fromMillis(at)
		return b, err
	})
}
