package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"fairwindow/planner"
	"fairwindow/sensors"
)

// load is what instruments and people send while the daemon is killed. A sender that
// got no answer sends the same again, as a good one does, until it gets one.
type load struct {
	f    processFolder
	seed uint64
	http *http.Client

	// Each of these belongs to one goroutine at a time, until all have ended.
	post, message, row, dropped, subject channel
	press                                presses
	files                                int // dropped so far

	mu     sync.Mutex
	faults []error
}

// channel is one way for readings to come in. Each reading is known by its own time,
// to the millisecond.
type channel struct {
	source  string
	draw    *rand.Rand
	last    time.Time
	pending []time.Time // sent, not acknowledged
	acked   []time.Time // in the order acknowledged
	retries int
}

// presses go through one boat's buttons, one after the other.
type presses struct {
	n       int
	pending url.Values // sent, not acknowledged
	acked   []string   // their ids
	retries int
}

func newLoad(f processFolder, seed uint64) *load {
	of := func(source string, stream uint64) channel {
		return channel{source: source, draw: rand.New(rand.NewPCG(seed, stream))}
	}
	return &load{
		f: f, seed: seed, post: of("by post", 2), message: of("by bus", 3), row: of("by file", 4), dropped: of("by drop", 5), subject: of("by subject", 6),
		http: &http.Client{
			Timeout:       5 * time.Second,
			CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		},
	}
}

// channels are all ways for readings to come in.
func (l *load) channels() []*channel {
	return []*channel{&l.post, &l.message, &l.row, &l.dropped, &l.subject}
}

// next is n times of readings that nobody used yet.
func (c *channel) next(n int) []time.Time {
	for range n {
		now := time.Now().UTC().Truncate(time.Millisecond)
		if !now.After(c.last) {
			now = c.last.Add(time.Millisecond)
		}
		c.last = now
		c.pending = append(c.pending, now)
	}
	return c.pending
}

// done notes that all that was sent is acknowledged.
func (c *channel) done() {
	c.acked = append(c.acked, c.pending...)
	c.pending = nil
}

// air wavers as an instrument does, so that it is not taken for stuck.
func air(at time.Time) float64 { return 19.5 + float64(at.UnixMilli()%1000)/1000 }

// each does something again and again until ctx ends.
func each(ctx context.Context, pause time.Duration, do func()) {
	tick := time.NewTicker(pause)
	defer tick.Stop()
	for ctx.Err() == nil {
		do()
		select {
		case <-ctx.Done():
		case <-tick.C:
		}
	}
}

func (l *load) fault(format string, args ...any) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.faults = append(l.faults, fmt.Errorf(format, args...))
}

// wrong is what the daemon answered that it may not.
func (l *load) wrong() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return errors.Join(l.faults...)
}

// posts sends readings by HTTP, some at a time, now and then a storm. Every other fifth
// of a second they contradict themselves, which owes people a notice each time.
func (l *load) posts(ctx context.Context) {
	each(ctx, 40*time.Millisecond, func() { l.postOnce(ctx) })
}

func (l *load) postOnce(ctx context.Context) {
	c := &l.post
	if len(c.pending) > 0 {
		c.retries++
	} else if c.draw.IntN(200) == 0 {
		c.next(300)
	} else {
		c.next(1 + c.draw.IntN(3))
	}
	var body strings.Builder
	for _, at := range c.pending {
		wet := 13.0
		if at.UnixMilli()/200%2 == 0 {
			wet = 30 // over the dry bulb
		}
		fmt.Fprintf(&body, `{"source": "by post", "time": %q, "values": {"air": %g, "humidity": 45, "surface": %g, "wet_bulb": %g}}`+"\n",
			at.Format(time.RFC3339Nano), air(at), air(at), wet)
	}
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://"+l.f.pages+"/v1/readings", strings.NewReader(body.String()))
	if err != nil {
		l.fault("%v", err)
		return
	}
	request.Header.Set("Authorization", "Bearer "+l.f.token())
	switch code, said := l.send(request); code {
	case 0, http.StatusServiceUnavailable: // it is sent again
	case http.StatusAccepted:
		c.done()
	default:
		l.fault("posted readings: %d %s", code, said)
	}
}

// send gives the answer, 0 if there was none to its end.
func (l *load) send(r *http.Request) (int, string) {
	answer, err := l.http.Do(r)
	if err != nil {
		return 0, ""
	}
	defer answer.Body.Close()
	said, err := io.ReadAll(answer.Body)
	if err != nil {
		return 0, ""
	}
	return answer.StatusCode, string(said)
}

// messages publishes readings by MQTT with quality of service 1, a few at a time.
func (l *load) messages(ctx context.Context) {
	client, ok := l.connect()
	if !ok {
		return // killed before
	}
	defer client.Disconnect(0)
	c := &l.message
	each(ctx, 40*time.Millisecond, func() {
		if len(c.pending) > 0 {
			c.retries++
		} else {
			c.next(1 + c.draw.IntN(3))
		}
		l.publish(ctx, client)
	})
}

func (l *load) connect() (mqtt.Client, bool) {
	client := mqtt.NewClient(mqtt.NewClientOptions().AddBroker("tcp://" + l.f.mqtt).SetClientID("booth-instrument").SetProtocolVersion(4).
		SetAutoReconnect(false).SetConnectTimeout(2 * time.Second))
	token := client.Connect()
	return client, token.WaitTimeout(2*time.Second) && token.Error() == nil
}

// publish sends what is pending, each when the one before is acknowledged.
func (l *load) publish(ctx context.Context, client mqtt.Client) {
	c := &l.message
	for len(c.pending) > 0 {
		at := c.pending[0]
		token := client.Publish("yard/booth/air", 1, false,
			fmt.Sprintf(`{"time": %q, "air": %g, "humidity": 45}`, at.Format(time.RFC3339Nano), air(at)))
		select {
		case <-token.Done():
		case <-ctx.Done():
			return
		}
		if token.Error() != nil || !client.IsConnectionOpen() {
			return // the end of the connection ends a token too
		}
		c.pending, c.acked = c.pending[1:], append(c.acked, at)
	}
}

// rows lets a CSV file grow, some lines in two pieces. What is in the file is as good as
// acknowledged.
func (l *load) rows(ctx context.Context) {
	c := &l.row
	file, err := os.OpenFile(filepath.Join(l.f.dir, "logger.csv"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		l.fault("%v", err)
		return
	}
	defer file.Close()
	write := func(text string) {
		if _, err := file.WriteString(text); err != nil {
			l.fault("%v", err)
		}
	}
	if info, err := file.Stat(); err == nil && info.Size() == 0 {
		write("time,air,humidity\n")
	}
	each(ctx, 40*time.Millisecond, func() {
		at := c.next(1)[0]
		line := fmt.Sprintf("%s,%g,45\n", at.Format(time.RFC3339Nano), air(at))
		half := c.draw.IntN(len(line))
		write(line[:half])
		write(line[half:])
		c.done()
	})
}

// presses goes through the boats' buttons as a browser does, each press in its turn.
func (l *load) presses(ctx context.Context) {
	each(ctx, 120*time.Millisecond, func() { l.pressOnce(ctx) })
}

func (l *load) pressOnce(ctx context.Context) {
	p := &l.press
	if p.pending != nil {
		p.retries++
	} else {
		p.pending = p.next(l.seed)
	}
	request, err := http.NewRequestWithContext(ctx, http.MethodPost,
		"http://"+l.f.pages+"/boat/"+url.PathEscape(p.boat())+"/press", strings.NewReader(p.pending.Encode()))
	if err != nil {
		l.fault("%v", err)
		return
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	switch code, said := l.send(request); code {
	case 0: // it is sent again
	case http.StatusSeeOther:
		p.acked = append(p.acked, p.id())
		p.pending = nil
		p.n++
	default:
		l.fault("pressing %v: %d %s", p.pending, code, said)
	}
}

func (p *presses) boat() string { return tortureBoats[p.n%len(tortureBoats)] }

// next is the form of the next press: each boat arrives, then its coat is pinned hours
// ahead, freed from that, held back and freed, again and again.
func (p *presses) next(seed uint64) url.Values {
	now := time.Now().UTC()
	v := url.Values{"once": {fmt.Sprintf("form %d of %d", p.n, seed)}, "happened": {now.Format("2006-01-02T15:04")}, "by": {"Painter One"}}
	if p.n < len(tortureBoats) {
		v.Set("kind", string(planner.Arrived))
		v.Set("more_arrived", []string{"booth", "booth", "row", "row"}[p.n])
		return v
	}
	v.Set("area", "topsides")
	v.Set("stage", "coat")
	kinds := []planner.PressKind{planner.Pinned, planner.Unpinned, planner.Held, planner.Freed}
	kind := kinds[(p.n/len(tortureBoats)-1)%len(kinds)]
	v.Set("kind", string(kind))
	switch kind {
	case planner.Pinned:
		v.Set("more_pinned", now.Add(time.Duration(3+p.n%9)*time.Hour).Format("2006-01-02T15:04"))
	case planner.Held:
		v.Set("note_held", "the masking is not done")
	}
	return v
}

// id is the press's own, as the pages make it of the form's.
func (p *presses) id() string { return p.pending.Get("once") + "/" + p.pending.Get("kind") + "/0" }

// rest sends again what nobody acknowledged, until somebody does.
func (l *load) rest(ctx context.Context) {
	for ctx.Err() == nil && len(l.post.pending) > 0 {
		l.postOnce(ctx)
	}
	for ctx.Err() == nil && l.press.pending != nil {
		l.pressOnce(ctx)
	}
	for ctx.Err() == nil && len(l.subject.pending) > 0 {
		l.subjectOnce(ctx)
	}
	if len(l.message.pending) == 0 {
		return
	}
	if client, ok := l.connect(); ok {
		defer client.Disconnect(0)
		l.publish(ctx, client)
	}
}

// gap names a reading that is missing though a later one of its source is there: a store
// that lost its end has lost nothing before it.
func (l *load) gap(readings []sensors.Reading) string {
	have := map[time.Time]bool{}
	for _, r := range readings {
		if r.Source == l.post.source {
			have[r.At.UTC()] = true
		}
	}
	acked := slices.Clone(l.post.acked)
	lost := time.Time{}
	for _, at := range acked {
		switch {
		case !have[at]:
			lost = at
		case !lost.IsZero():
			return fmt.Sprintf("the reading of %s is there, and the earlier one of %s is not", at, lost)
		}
	}
	return ""
}

// TestLoadKnowsAGap: what the torture calls a gap is one, and a lost end is none.
func TestLoadKnowsAGap(t *testing.T) {
	l := newLoad(processFolder{}, 1)
	l.post.next(4)
	l.post.done()
	var all []sensors.Reading
	for _, at := range l.post.acked {
		all = append(all, sensors.Reading{Source: "by post", At: at})
	}
	if gap := l.gap(all[:2]); gap != "" {
		t.Errorf("a lost end: %s", gap)
	}
	if gap := l.gap(slices.Delete(slices.Clone(all), 1, 2)); gap == "" {
		t.Error("a lost reading in the middle passes")
	}
}
