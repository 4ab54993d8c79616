package store

import (
	"context"
	"database/sql"
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// Hour is one variable of one source over one hour. The numbers are those of the good
// values, NaN where none was.
type Hour struct {
	Source, Place, Boat                string
	Hour                               time.Time // its beginning
	Variable                           conditions.Variable
	Good, Doubted                      int
	Least, Mean, Greatest, First, Last float64
}

const hourMillis = int64(time.Hour / time.Millisecond)

// hourOf is the beginning of a time's hour, also before 1970.
func hourOf(at int64) int64 {
	return at - ((at%hourMillis)+hourMillis)%hourMillis
}

// Hours gives the hours asked for that were folded, by time. Each, Before and Limit
// of a query mean nothing here.
func (s *Store) Hours(ctx context.Context, q Query) ([]Hour, error) {
	q.Each = 0
	if !q.From.IsZero() {
		q.From = fromMillis(hourOf(millis(q.From)))
	}
	where, args := q.terms()
	rows, err := s.reader.QueryContext(ctx, `SELECT s.source, s.place, s.boat, r.at, r.variable, r.good, r.doubted, r.least, r.mean, r.greatest, r.first, r.last
		FROM spots s CROSS JOIN (SELECT spot, hour AS at, variable, good, doubted, least, mean, greatest, first, last FROM hours) r ON r.spot = s.id`+
		where+` ORDER BY r.at, s.id, r.variable`, args...)
	return collect(rows, err, func(rows *sql.Rows) (Hour, error) {
		var h Hour
		var at int64
		var numbers [5]sql.NullFloat64
		err := rows.Scan(&h.Source, &h.Place, &h.Boat, &at, &h.Variable, &h.Good, &h.Doubted, &numbers[0], &numbers[1], &numbers[2], &numbers[3], &numbers[4])
		h.Hour = fromMillis(at)
		for i, to := range []*float64{&h.Least, &h.Mean, &h.Greatest, &h.First, &h.Last} {
			*to = math.NaN()
			if numbers[i].Valid {
				*to = numbers[i].Float64
			}
		}
		return h, err
	})
}

// fold sums up readings of one spot, given by time, hour by hour. An hour that is
// folded again, as after a file was read twice, stays as it was unless more is known of it.
func fold(tx *sql.Tx, of int64, readings []sensors.Reading) error {
	for len(readings) > 0 {
		hour := hourOf(millis(readings[0].At))
		n := 1
		for n < len(readings) && hourOf(millis(readings[n].At)) == hour {
			n++
		}
		sums := summed(readings[:n])
		for _, v := range slices.Sorted(maps.Keys(sums)) {
			h := sums[v]
			number := func(x float64) sql.NullFloat64 { return sql.NullFloat64{Float64: x, Valid: h.Good > 0} }
			if _, err := tx.Exec(`INSERT INTO hours (spot, hour, variable, good, doubted, least, mean, greatest, first, last)
				VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO UPDATE SET good = excluded.good, doubted = excluded.doubted, least = excluded.least,
				mean = excluded.mean, greatest = excluded.greatest, first = excluded.first, last = excluded.last
				WHERE excluded.good + excluded.doubted > good + doubted`,
				of, hour, string(v), h.Good, h.Doubted, number(h.Least), number(h.Mean), number(h.Greatest), number(h.First), number(h.Last)); err != nil {
				return fmt.Errorf("the hour %s: %w", fromMillis(hour).Format(time.RFC3339), err)
			}
		}
		readings = readings[n:]
	}
	return nil
}

// summed is one hour's readings by variable. A value that was named only by its doubt,
// as one that was missing, is counted among the doubted.
func summed(readings []sensors.Reading) map[conditions.Variable]*Hour {
	sums := map[conditions.Variable]*Hour{}
	of := func(v conditions.Variable) *Hour {
		if sums[v] == nil {
			sums[v] = &Hour{Variable: v}
		}
		return sums[v]
	}
	for _, r := range readings {
		for v := range r.Values {
			h := of(v)
			x, ok := r.Good(v)
			if !ok || math.IsNaN(x) || math.IsInf(x, 0) {
				h.Doubted++
				continue
			}
			if h.Good++; h.Good == 1 {
				h.Least, h.Greatest, h.First = x, x, x
			}
			h.Least, h.Greatest, h.Last = min(h.Least, x), max(h.Greatest, x), x
			h.Mean += (x - h.Mean) / float64(h.Good)
		}
		for _, f := range r.Flags {
			if _, said := r.Values[f.Of]; !said && f.Of != "" {
				of(f.Of).Doubted++
			}
		}
	}
	return sums
}
