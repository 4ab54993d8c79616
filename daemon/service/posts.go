package service

import (
	"encoding/json"
	"net/http"
	"strings"
	"time"

	"fairwindow/daemon/signed"
	"fairwindow/sensors"
)

const (
	// postsAtOnce is how many posts of readings may be under way: each holds up to
	// 1 MiB, and they are taken in one after the other.
	postsAtOnce = 32
	// postWithin is how long a body may take to come, so that a slow sender does not
	// hold a place for ever.
	postWithin = 30 * time.Second
)

// Intake is the handler of POST /v1/readings. Beyond postsAtOnce it takes nothing in
// and says so at once: a sender that waits its turn elsewhere costs nothing here.
func (s *Service) Intake() (http.Handler, error) {
	token, err := s.token()
	if err != nil {
		return nil, err
	}
	under := make(chan struct{}, postsAtOnce)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		select {
		case under <- struct{}{}:
			defer func() { <-under }()
		default:
			s.health.turned.Inc()
			w.Header().Set("Retry-After", "2")
			w.Header().Set("Content-Type", "application/json")
			w.WriteHeader(http.StatusServiceUnavailable)
			_ = json.NewEncoder(w).Encode(sensors.Taken{Error: "too many posts at once; nothing was taken in, send it again"}) // the peer may have gone
			return
		}
		// Not every writer can, such as one of a test; the server's own limits stand.
		_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(postWithin))
		y := s.Yard()
		var places, boats []string
		for _, p := range y.Places {
			places = append(places, p.Name)
		}
		s.mu.Lock()
		for _, b := range s.facts.boats {
			boats = append(boats, b.Name)
		}
		s.mu.Unlock()
		asked := token
		if h, ok := signed.Of(r.Context()); ok && h.Role == signed.Machine {
			// The pages let it in by a token of its own that opens this.
			asked = strings.TrimPrefix(r.Header.Get("Authorization"), "Bearer ")
		}
		sensors.NewHTTP(sensors.Post{
			Token: asked, Sensors: y.Sensors, Places: places, Boats: boats, Intake: s.TakeReadings, Clock: s.clock,
		}).ServeHTTP(w, r)
	}), nil
}
