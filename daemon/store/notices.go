package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"fairwindow/notify"
)

// Sent says that one revision of a notice has gone out.
type Sent struct {
	ID       string
	Revision int
	At       time.Time
}

// insertNotices puts notices in the outbox; a revision that is known stays as it was.
func insertNotices(tx *sql.Tx, notices []notify.Notice, done *Committed) error {
	for _, n := range notices {
		if n.ID == "" || n.At.IsZero() {
			return errors.New("a notice needs an id and a time of issue")
		}
		body, err := json.Marshal(n)
		if err != nil {
			return fmt.Errorf("notice %s: %w", n.ID, err)
		}
		result, err := tx.Exec(`INSERT INTO notices (id, revision, at, notice) VALUES (?, ?, ?, ?)
			ON CONFLICT (id, revision) DO NOTHING`, n.ID, n.Revision, millis(n.At), string(body))
		if err != nil {
			return fmt.Errorf("notice %s: %w", n.ID, err)
		}
		fresh, err := result.RowsAffected()
		if err != nil {
			return err
		}
		if fresh == 1 {
			done.Notices = append(done.Notices, n)
		}
	}
	return nil
}

// Unsent gives notices that have not gone out, in the order of their commits;
// all without a limit.
func (s *Store) Unsent(ctx context.Context, limit int) ([]notify.Notice, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT notice FROM notices WHERE sent IS NULL ORDER BY seq LIMIT ?`, limited(limit))
	return collect(rows, err, scanNotice)
}

// MarkSent notes what has gone out. The first time counts.
func (s *Store) MarkSent(ctx context.Context, sent []Sent) error {
	if len(sent) == 0 {
		return nil
	}
	return s.write(ctx, func(tx *sql.Tx) error {
		for _, n := range sent {
			if _, err := tx.Exec(`UPDATE notices SET sent = ? WHERE id = ? AND revision = ? AND sent IS NULL`,
				millis(n.At), n.ID, n.Revision); err != nil {
				return fmt.Errorf("notice %s: %w", n.ID, err)
			}
		}
		return nil
	})
}

// selectNotices sorts for itself: in the order of seq as it lies SQLite would look through all
// that was ever said for the few that are new enough.
const selectNotices = `SELECT notice FROM notices WHERE at >= ? ORDER BY +seq DESC LIMIT ?`

// Notices gives those issued since a time, in the order of their commits; with
// a limit the newest of them.
func (s *Store) Notices(ctx context.Context, since time.Time, limit int) ([]notify.Notice, error) {
	rows, err := s.reader.QueryContext(ctx, selectNotices, millis(since), limited(limit))
	notices, err := collect(rows, err, scanNotice)
	slices.Reverse(notices)
	return notices, err
}

func scanNotice(rows *sql.Rows) (notify.Notice, error) {
	var n notify.Notice
	var body []byte
	if err := rows.Scan(&body); err != nil {
		return n, err
	}
	return n, json.Unmarshal(body, &n)
}
