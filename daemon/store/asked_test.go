package store

import (
	"database/sql"
	"strings"
	"testing"
)

// What is asked with each notice, while others wait for the turn, never looks through all that
// was ever said or told: SQLite calls that a SCAN without an index.
func TestWhatIsAskedOftenIsFoundByIndex(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	for _, query := range []string{
		selectDeliveries, selectNotices, `UPDATE deliveries SET sent = 0` + ofLetter, `UPDATE deliveries SET due = 0` + ofRef,
	} {
		rows, err := s.writer.QueryContext(t.Context(), `EXPLAIN QUERY PLAN `+query, make([]any, strings.Count(query, "?"))...)
		steps, err := collect(rows, err, func(rows *sql.Rows) (step string, err error) {
			var id, parent, unused int
			return step, rows.Scan(&id, &parent, &unused, &step)
		})
		if err != nil || len(steps) == 0 {
			t.Fatalf("%s: %v", query, err)
		}
		for _, step := range steps {
			if strings.HasPrefix(step, "SCAN ") && !strings.Contains(step, " USING INDEX ") {
				t.Errorf("%s: %s", query, step)
			}
		}
	}
}
