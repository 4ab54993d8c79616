package pages

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"fairwindow/notify"
)

// How the events go: a look every few seconds, and an end after a while, so
// that a browser that is gone is forgotten. Browsers come back by themselves.
const (
	lookEvery = 3 * time.Second
	quietFor  = 30 * time.Second // a comment goes out this often, so that proxies keep the line
	streamFor = 15 * time.Minute
	lately    = 24 * time.Hour // how far back a notice is looked for
)

// pulse is the last look at what may change, shared by all who listen.
type pulse struct {
	mu     sync.Mutex
	looked time.Time
	state  string
	told   []notify.Notice // lately, oldest first
}

// forget has the next look be a fresh one: the person who just pressed must not
// be shown his own press as news.
func (l *pulse) forget() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.state = ""
}

// now is a text that differs when the plan or the notices do, and the notices.
func (l *pulse) now(ctx context.Context, p *pages) (string, []notify.Notice, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	at := p.Clock.Now()
	if l.state != "" && at.Sub(l.looked) < lookEvery && !at.Before(l.looked) {
		return l.state, l.told, nil
	}
	_, draft, err := p.Plans.Draft(ctx)
	if err != nil {
		return "", nil, fmt.Errorf("draft: %w", err)
	}
	_, told, err := p.Plans.Told(ctx)
	if err != nil {
		return "", nil, fmt.Errorf("told plan: %w", err)
	}
	notices, err := p.Desk.Notices(ctx, p.Plans.Now().Add(-lately))
	if err != nil {
		return "", nil, fmt.Errorf("notices: %w", err)
	}
	last := "none"
	if n := len(notices); n > 0 {
		last = fmt.Sprintf("%s.%d", notices[n-1].ID, notices[n-1].Revision)
	}
	l.told = notices
	l.looked, l.state = at, fmt.Sprintf("%d %d %s", draft, told, last)
	return l.state, l.told, nil
}

type standsKey struct{}

// standing notes in a request where things stand, before anything is read for its page: what
// changes while the page is made, or before it hears events, is news to it.
func (p *pages) standing(r *http.Request) *http.Request {
	now, _, err := p.pulse.now(r.Context(), p)
	if err != nil {
		return r // whoever makes the page meets the same, and says so
	}
	return r.WithContext(context.WithValue(r.Context(), standsKey{}, now))
}

// events tells a page when there is something newer than it shows. The first
// event carries where things stand, each later one that they changed, after an event for each
// notice that is new, worded.
func (p *pages) events(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	send := http.NewResponseController(w)
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("X-Accel-Buffering", "no")
	ticker := p.Clock.NewTicker(lookEvery)
	defer ticker.Stop()
	end := p.Clock.Now().Add(streamFor)
	spoke, state := time.Time{}, ""
	var heard []notify.Notice
	for {
		now, told, err := p.pulse.now(ctx, p)
		if err != nil {
			if ctx.Err() == nil {
				p.Log.WithError(err).Error("pages: events cannot look")
			}
			return
		}
		// The server's own limit on writing is meant for pages; a stream outlives it.
		_ = send.SetWriteDeadline(time.Now().Add(time.Minute))
		at := p.Clock.Now()
		message := ""
		switch {
		case state == "":
			message = "retry: 5000\nevent: stands\ndata: " + now + "\n\n"
		case now != state:
			message = p.live(r, since(heard, told)) + "event: changed\ndata: " + now + "\n\n"
		case at.Sub(spoke) >= quietFor:
			message = ": still here\n\n"
		}
		if message != "" {
			// Who was shut out meanwhile hears no more, and least of all the notices.
			if is, err := p.identify(r); err != nil || !onScreens.lets(is) {
				return
			}
			state, spoke, heard = now, at, told
			if _, err := fmt.Fprint(w, message); err != nil || send.Flush() != nil {
				return
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-ticker.Chan():
			if p.Clock.Now().After(end) {
				return
			}
		}
	}
}

// since are the notices of now after the last of those that were heard.
func since(heard, now []notify.Notice) []notify.Notice {
	if len(heard) == 0 {
		return now
	}
	last := heard[len(heard)-1]
	at := slices.IndexFunc(now, func(n notify.Notice) bool { return n.ID == last.ID && n.Revision == last.Revision })
	return now[at+1:]
}

// live are events for notices: a page on which somebody is typing shows them and stays.
func (p *pages) live(r *http.Request, notices []notify.Notice) string {
	c, style := p.clock(r), p.style(r)
	var b strings.Builder
	if p.who(r).machine != nil {
		return "" // a screen is told that something changed, and reads no notices
	}
	for _, n := range notices {
		text, err := json.Marshal(struct {
			At       string `json:"at"`
			Sentence string `json:"sentence"`
			Urgent   bool   `json:"urgent"`
		}{c.hour(n.At), notify.Sentence(n, style), n.Kind.Urgent()})
		if err == nil {
			fmt.Fprintf(&b, "event: notice\ndata: %s\n\n", text)
		}
	}
	return b.String()
}
