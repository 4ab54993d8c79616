package pages

import (
	"bufio"
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"fairwindow/config"
	"fairwindow/notify"
	"fairwindow/planner"

	"github.com/jonboulle/clockwork"
)

// turning is a yard whose draft's number changes while somebody listens.
type turning struct {
	*fake
	mu     sync.Mutex
	number int64
	looks  int
}

func (f *turning) Draft(context.Context) (planner.Plan, int64, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.looks++
	return planner.Plan{}, f.number, nil
}

func (f *turning) Notices(context.Context, time.Time) ([]notify.Notice, error) { return nil, nil }

func (f *turning) turn(to int64) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.number = to
}

// Boats turns the draft in the midst of making a page, the plan of which was read before.
type turningMeanwhile struct{ *turning }

func (f turningMeanwhile) Boats(ctx context.Context) ([]config.Boat, error) {
	f.turn(2)
	return f.turning.Boats(ctx)
}

// A page bears where things stood before it was made: what changed meanwhile is news to it,
// however late its events come.
func TestAPageBearsWhereThingsStood(t *testing.T) {
	yard := turningMeanwhile{&turning{fake: newFake(), number: 1}}
	o, _ := yard.options()
	o.Plans, o.Desk, o.Clock = yard, yard, clockwork.NewFakeClockAt(now)
	handler, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	answer := httptest.NewRecorder()
	handler.ServeHTTP(answer, httptest.NewRequest("GET", "/boats", nil))
	if !strings.Contains(answer.Body.String(), `data-stands="1 11 none"`) {
		t.Errorf("status %d, the page does not say that it was made while things stood at 1 11 none", answer.Code)
	}
}

func TestEvents(t *testing.T) {
	yard := &turning{fake: newFake(), number: 1}
	clock := clockwork.NewFakeClockAt(now)
	o, _ := yard.options()
	o.Plans, o.Desk, o.Clock = yard, yard, clock
	handler, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(handler)
	defer server.Close()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	listen := func() *bufio.Scanner {
		r, err := http.NewRequestWithContext(ctx, "GET", server.URL+"/events", nil)
		if err != nil {
			t.Fatal(err)
		}
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { answer.Body.Close() })
		if kind := answer.Header.Get("Content-Type"); kind != "text/event-stream" {
			t.Fatalf("type %q", kind)
		}
		return bufio.NewScanner(answer.Body)
	}
	next := func(s *bufio.Scanner, prefix string) string {
		t.Helper()
		for s.Scan() {
			if strings.HasPrefix(s.Text(), prefix) {
				return s.Text()
			}
		}
		t.Fatalf("no %q came: %v", prefix, s.Err())
		return ""
	}
	first, second := listen(), listen()
	for _, s := range []*bufio.Scanner{first, second} {
		if next(s, "event:") != "event: stands" || next(s, "data:") != "data: 1 11 none" {
			t.Fatalf("first word %q", s.Text())
		}
	}
	if err := clock.BlockUntilContext(ctx, 2); err != nil {
		t.Fatal(err)
	}
	yard.turn(2)
	clock.Advance(lookEvery)
	for _, s := range []*bufio.Scanner{first, second} {
		if next(s, "event:") != "event: changed" || next(s, "data:") != "data: 2 11 none" {
			t.Fatalf("second word %q", s.Text())
		}
	}
	yard.mu.Lock()
	looks := yard.looks
	yard.mu.Unlock()
	if looks != 2 {
		t.Errorf("two who listen made %d looks in two rounds, want 2", looks)
	}
	clock.Advance(quietFor)
	next(first, ": still here")
	clock.Advance(streamFor)
	for first.Scan() {
	}
	if first.Err() != nil {
		t.Errorf("the stream did not end by itself: %v", first.Err())
	}
}
