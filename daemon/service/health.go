package service

import (
	"context"
	"errors"
	"fmt"
	"net/http"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"fairwindow/notify"
)

// health is what the daemon counts about itself.
type health struct {
	registry  *prometheus.Registry
	readings  prometheus.Counter
	flags     *prometheus.CounterVec
	unmapped  prometheus.Counter
	forecasts prometheus.Counter
	notices   *prometheus.CounterVec
	plans     prometheus.Counter
	refused   prometheus.Counter
	planning  prometheus.Histogram
	reloaded  prometheus.Gauge
	leaps     prometheus.Counter
	turned    prometheus.Counter
}

func newHealth() health {
	counter := func(name, help string) prometheus.Counter {
		return prometheus.NewCounter(prometheus.CounterOpts{Name: "fairwindow_" + name, Help: help})
	}
	counters := func(name, help, label string) *prometheus.CounterVec {
		return prometheus.NewCounterVec(prometheus.CounterOpts{Name: "fairwindow_" + name, Help: help}, []string{label})
	}
	h := health{
		registry:  prometheus.NewRegistry(),
		readings:  counter("readings_total", "Readings stored."),
		flags:     counters("reading_flags_total", "Doubts marked on readings.", "fault"),
		unmapped:  counter("unmapped_messages_total", "Messages on topics that no sensor of the yard file has."),
		forecasts: counter("forecasts_total", "Forecasts stored."),
		notices:   counters("notices_total", "Notices on the bus.", "kind"),
		plans:     counter("plans_total", "Plans made."),
		refused:   counter("plans_refused_total", "Plans that broke a rule when checked and were not told."),
		turned:    counter("posts_turned_away_total", "Posts of readings answered 503, as too many were under way."),
		leaps:     counter("clock_leaps_total", "Times the machine's clock was set, or the machine slept."),
		planning: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name: "fairwindow_planning_seconds", Help: "Time to make one plan.", Buckets: []float64{.02, .05, .1, .2, .5, 1, 2, 5},
		}),
		reloaded: prometheus.NewGauge(prometheus.GaugeOpts{
			Name: "fairwindow_yard_file_good", Help: "1 if the yard file was good when it was last read.",
		}),
	}
	h.reloaded.Set(1)
	h.registry.MustRegister(h.readings, h.flags, h.unmapped, h.forecasts, h.notices, h.plans, h.refused, h.planning, h.reloaded, h.leaps, h.turned)
	return h
}

func (h *health) sent(k notify.Kind) { h.notices.WithLabelValues(string(k)).Inc() }

// Metrics serves what is counted, in the Prometheus text format.
func (s *Service) Metrics() http.Handler {
	return promhttp.HandlerFor(s.health.registry, promhttp.HandlerOpts{})
}

// Ready says what is missing before people may rely on this daemon.
func (s *Service) Ready(ctx context.Context) error {
	if _, err := s.store.Memory(ctx); err != nil {
		return fmt.Errorf("the store does not answer: %w", err)
	}
	if _, err := s.bus.Pending(ctx); err != nil {
		return fmt.Errorf("the bus does not answer: %w", err)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.trouble.notKept != "" {
		return errors.New(s.trouble.notKept)
	}
	if s.facts.draft.ID == 0 {
		return fmt.Errorf("no plan has been made yet")
	}
	return nil
}
