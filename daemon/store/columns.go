package store

import (
	"database/sql"
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"time"
)

// millis is a time as a column holds it.
func millis(t time.Time) int64 { return t.UnixMilli() }

// maybeMillis is a time that may not be known: NULL for the zero time.
func maybeMillis(t time.Time) sql.NullInt64 {
	return sql.NullInt64{Int64: t.UnixMilli(), Valid: !t.IsZero()}
}

func fromMillis(ms int64) time.Time { return time.UnixMilli(ms).UTC() }

func fromMaybeMillis(ms sql.NullInt64) time.Time {
	if !ms.Valid {
		return time.Time{}
	}
	return fromMillis(ms.Int64)
}

// rounded is a time as it will be read back.
func rounded(t time.Time) time.Time {
	if t.IsZero() {
		return time.Time{}
	}
	return fromMillis(millis(t))
}

// maybeText is a text that may not be known: NULL for none.
func maybeText(s string) sql.NullString { return sql.NullString{String: s, Valid: s != ""} }

// limited is the LIMIT of a query: SQLite reads a negative one as none.
func limited(n int) int {
	if n <= 0 {
		return -1
	}
	return n
}

// collect reads every row of a query, in order.
func collect[T any](rows *sql.Rows, err error, scan func(*sql.Rows) (T, error)) ([]T, error) {
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []T
	for rows.Next() {
		one, err := scan(rows)
		if err != nil {
			return nil, err
		}
		all = append(all, one)
	}
	return all, rows.Err()
}

// number is a float with a JSON form for every value: null for NaN, "+Inf" and "-Inf".
type number float64

func (n number) MarshalJSON() ([]byte, error) {
	switch v := float64(n); {
	case math.IsNaN(v):
		return []byte("null"), nil
	case math.IsInf(v, 1):
		return []byte(`"+Inf"`), nil
	case math.IsInf(v, -1):
		return []byte(`"-Inf"`), nil
	}
	return json.Marshal(float64(n))
}

func (n *number) UnmarshalJSON(text []byte) error {
	if string(text) == "null" {
		*n = number(math.NaN())
		return nil
	}
	v, err := strconv.ParseFloat(strings.Trim(string(text), `"`), 64)
	*n = number(v)
	return err
}
