package pages

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"time"

	"fairwindow/conditions"
)

// placeFile gives what a place's chart shows as a file: each quarter of an hour that was
// measured and each hour that is foretold, in SI units; how it stands by the limits each hour.
// A gap in it was not measured.
func (p *pages) placeFile(w http.ResponseWriter, r *http.Request) error {
	ctx, c, name := r.Context(), p.clock(r), r.PathValue("name")
	if _, ok := p.Plans.Yard().Place(name); !ok {
		return missing(fmt.Sprintf("There is no place called %q in the yard file.", name))
	}
	span := placeSpanOf(r, name, c)
	if span.Fault != "" {
		plain(w, http.StatusUnprocessableEntity, span.Fault)
		return nil
	}
	moments, err := p.moments(ctx, name, span.axis, c)
	if err != nil {
		return err
	}
	verdicts, err := p.Air.Judged(ctx, name, span.from, span.to)
	if err != nil {
		return fmt.Errorf("verdicts of %s: %w", name, err)
	}
	hourly := map[int64]conditions.Verdict{}
	for _, v := range verdicts {
		hourly[v.At.Unix()] = v
	}
	var b bytes.Buffer
	out := csv.NewWriter(&b)
	_ = out.Write([]string{"time", "how", "air_C", "dew_point_C", "hull_coldest_C", "hull_warmest_C", "margin_K", "margin_sd_K", "humidity_pct",
		"wind_m_s", "gust_m_s", "rain_chance_pct", "answer", "limit", "chance"})
	for _, m := range moments {
		_ = out.Write(fileRow(m, hourly[m.At.Unix()], c))
	}
	out.Flush() // a buffer takes all
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="air.csv"`)
	_, _ = w.Write(b.Bytes()) // the reader may be gone
	return nil
}

func fileRow(m conditions.Moment, v conditions.Verdict, c clock) []string {
	limit := ""
	if v.Binding >= 0 && v.Binding < len(v.Margins) {
		limit = bound(v.Margins[v.Binding].Bound) + " (" + v.Margins[v.Binding].Owner + ")"
	}
	chance := ""
	if v.Answer != "" && m.Sure != conditions.Measured {
		chance = figure(v.Chance, 2)
	}
	return []string{
		m.At.In(c.zone).Format(time.RFC3339), howSure(m.Sure), figure(float64(m.Air), 2), figure(float64(m.DewPoint), 2), figure(float64(m.Coldest), 2), figure(float64(m.Warmest), 2),
		figure(float64(margin(m)), 2), figure(float64(m.MarginError), 2), figure(humidity(m), 1), figure(float64(m.Wind), 1), figure(float64(m.Gust), 1),
		figure(100*float64(m.RainChance), 0), string(v.Answer), limit, chance,
	}
}

// figure is a number as a program reads it; one that is not known is empty.
func figure(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}

// moments are what was measured in a place up to now, then its outlook.
func (p *pages) moments(ctx context.Context, place string, a axis, c clock) ([]conditions.Moment, error) {
	var past, ahead []conditions.Moment
	var err error
	if a.from.Before(c.now) {
		to := c.now
		if a.to.Before(to) {
			to = a.to
		}
		if past, err = p.Air.Past(ctx, place, a.from, to); err != nil {
			return nil, fmt.Errorf("past air of %s: %w", place, err)
		}
	}
	if a.to.After(c.now) {
		if ahead, err = p.Air.Ahead(ctx, place, a.to); err != nil {
			return nil, fmt.Errorf("outlook of %s: %w", place, err)
		}
	}
	// The outlook was made some time ago; what has been measured since counts.
	ahead = slices.DeleteFunc(slices.Clone(ahead), func(m conditions.Moment) bool { return !m.At.After(c.now) || m.At.Before(a.from) })
	return slices.Concat(past, ahead), nil
}
