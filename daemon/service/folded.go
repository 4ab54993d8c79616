package service

import (
	"context"
	"time"

	"fairwindow/conditions"
	"fairwindow/daemon/store"
	"fairwindow/sensors"
)

// folded is what is left of a place's readings of long ago: the means of each source's
// hours, as if they were read in the middle of each. A value of which more was doubted
// than good says nothing. Of an hour whose readings are kept whole, as evidence, the
// later of them still speak last.
func (s *Service) folded(ctx context.Context, place string, begin, end time.Time) ([]sensors.Reading, error) {
	hours, err := s.store.Hours(ctx, store.Query{Place: place, From: begin, To: end})
	if err != nil {
		return nil, err
	}
	var all []sensors.Reading
	for _, h := range hours {
		middle := h.Hour.Add(30 * time.Minute)
		if h.Good <= h.Doubted || middle.Before(begin) || !middle.Before(end) {
			continue
		}
		// The store gives a source's values of one hour one after the other.
		if n := len(all); n == 0 || all[n-1].Source != h.Source || all[n-1].Boat != h.Boat || !all[n-1].At.Equal(middle) {
			all = append(all, sensors.Reading{Source: h.Source, Place: h.Place, Boat: h.Boat, At: middle, Received: middle,
				Values: map[conditions.Variable]float64{}})
		}
		all[len(all)-1].Values[h.Variable] = h.Mean
	}
	return all, nil
}
