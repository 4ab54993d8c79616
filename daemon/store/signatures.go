package store

import (
	"context"
	"database/sql"
	"errors"
	"math"
	"time"
)

// Signature is whose hand a change is: what kind of change about what, by whom, who might do
// so as what, and from where.
type Signature struct {
	At      time.Time
	Kind    string
	About   string
	By      string
	Role    string
	Address string
	Device  string
	Through string // the path of the page that took it
	Once    string // known already: the change was sent again, and is signed
}

// SignatureQuery picks signatures; what is zero picks nothing out.
type SignatureQuery struct {
	By       string
	From, To time.Time // half-open
	Limit    int
}

// sign keeps signatures within the transaction of what they sign.
func sign(tx *sql.Tx, at time.Time, all ...Signature) error {
	for _, g := range all {
		if g.Kind == "" {
			return errors.New("a signature needs to say what is signed")
		}
		_, err := tx.Exec(`INSERT INTO signatures (at, kind, about, by, role, address, device, through, once) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)
			ON CONFLICT (once) DO NOTHING`,
			millis(at), g.Kind, g.About, g.By, g.Role, g.Address, g.Device, g.Through, maybeText(g.Once))
		if err != nil {
			return err
		}
	}
	return nil
}

// Sign keeps a signature of what changes nothing else.
func (s *Store) Sign(ctx context.Context, at time.Time, all ...Signature) error {
	return s.write(ctx, func(tx *sql.Tx) error { return sign(tx, at, all...) })
}

// Signatures gives them, the latest first.
func (s *Store) Signatures(ctx context.Context, q SignatureQuery) ([]Signature, error) {
	from, to := int64(math.MinInt64), int64(math.MaxInt64)
	if !q.From.IsZero() {
		from = millis(q.From)
	}
	if !q.To.IsZero() {
		to = millis(q.To)
	}
	rows, err := s.reader.QueryContext(ctx, `SELECT at, kind, about, by, role, address, device, through, once FROM signatures
		WHERE at >= ? AND at < ? AND (? = '' OR by = ?) ORDER BY at DESC, id DESC LIMIT ?`, from, to, q.By, q.By, limited(q.Limit))
	return collect(rows, err, func(rows *sql.Rows) (Signature, error) {
		var g Signature
		var at int64
		var once sql.NullString
		err := rows.Scan(&at, &g.Kind, &g.About, &g.By, &g.Role, &g.Address, &g.Device, &g.Through, &once)
		g.At, g.Once = fromMillis(at), once.String
		return g, err
	})
}

// Signers are all who ever signed.
func (s *Store) Signers(ctx context.Context) ([]string, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT DISTINCT by FROM signatures WHERE by <> '' ORDER BY by`)
	return collect(rows, err, func(rows *sql.Rows) (string, error) {
		var by string
		err := rows.Scan(&by)
		return by, err
	})
}
