package sensors

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// Address fetches the forecast at a URL. It sends back the ETag and the time
// that the server gave, so that an unchanged forecast costs neither side much,
// asks no sooner than the server said that there may be another, and backs off
// from one that fails.
type Address struct {
	options AddressOptions
	client  *http.Client
	state   AddressState
	spared  time.Time // its server asked not to be asked before
}

// AddressOptions is what an Address needs.
type AddressOptions struct {
	Source config.Forecast // its Every is how often a server is asked that says nothing of it; default an hour
	Zone   *time.Location  // the yard's
	Client *http.Client
	Agent  string // User-Agent: several weather services refuse requests without a name and a contact
	Parse  Parse
	Intake ForecastIntake
	Clock  clockwork.Clock
	State  AddressState                // as it was remembered; the zero value asks at once
	Wait   time.Duration               // for one answer, to its last byte; default 30 s
	Refuse func(d Document, why error) // told of each document that is no forecast, with what came; may be nil
}

// AddressState is what must be remembered so that a restart asks no sooner, and
// for no more, than a program that never stopped. The document itself is with
// whoever took it in.
type AddressState struct {
	Of       string    `json:"of"`                 // the address and format it is about, as a digest: an address may hold a key
	ETag     string    `json:"etag,omitempty"`     // of the last document that was taken in
	Modified string    `json:"modified,omitempty"` // its Last-Modified, as the server wrote it
	Digest   string    `json:"digest,omitempty"`   // of its body
	Failed   int       `json:"failed,omitempty"`   // how often in a row
	Why      string    `json:"why,omitempty"`      // it failed the last time
	Next     time.Time `json:"next,omitzero"`      // it is not asked again before
}

// fetchEvery is how often an address is asked when neither yard file nor server says.
const fetchEvery = time.Hour

// NewAddress fetches from the source's URL. A state of another address is not used.
func NewAddress(o AddressOptions) *Address {
	if o.Source.Every == 0 {
		o.Source.Every = unit.Duration(fetchEvery)
	}
	if o.Wait == 0 {
		o.Wait = fetchWait
	}
	a := &Address{options: o, client: guarded(o.Client), state: o.State}
	if !a.state.About(o.Source) {
		a.state = AddressState{Of: addressOf(o.Source)}
	}
	// A clock that was wrong when it was written must not silence a source.
	if latest := o.Clock.Now().Add(max(longestWait, o.Source.Every.Std())); a.state.Next.After(latest) {
		a.state.Next = time.Time{}
	}
	a.spared = a.state.Next // which of the two said so is not remembered
	return a
}

// About reports whether a state is of a source's address and format as they are now.
func (s AddressState) About(source config.Forecast) bool { return s.Of == addressOf(source) }

func addressOf(source config.Forecast) string {
	return digestOf([]byte(source.URL + "\n" + source.Format))
}

// State is what should be remembered after each Poll.
func (a *Address) State() AddressState { return a.state }

// Next is when to poll again: at once if the time is zero or past.
func (a *Address) Next() time.Time { return a.state.Next }

// Due is Next for who looks now and then. A look that comes a little before the yard's own
// time is that time's look: looks a minute apart ring some milliseconds early or late, and
// "every: 1 min" would be each second one. What the server asked for is kept to the letter.
func (a *Address) Due() time.Time {
	if due := a.state.Next.Add(-time.Second); due.After(a.spared) {
		return due
	}
	return a.spared
}

// Poll fetches once. It takes a forecast in if it is another than the last;
// only then is the last one's mark replaced. The error names the source and
// says what the server answered.
func (a *Address) Poll(ctx context.Context) error {
	asked := a.options.Clock.Now()
	got, err := a.poll(ctx)
	if ctx.Err() != nil { // the program ends: no fault of the server's
		return ctx.Err()
	}
	now := a.options.Clock.Now()
	if err != nil {
		a.state.Failed++
		a.state.Next = now.Add(max(backOff(a.state, now, a.options.Source.Every.Std()), got.retryAfter(now))).UTC()
		a.state.Why, a.spared = err.Error(), a.state.Next
		return fmt.Errorf("forecast %s: %w", a.options.Source.Name, err)
	}
	a.state.Failed, a.state.Why = 0, ""
	a.state.Next, a.spared = asked.Add(a.options.Source.Every.Std()).UTC(), now.Add(min(got.fresh(now), longestFresh)).UTC()
	if a.spared.After(a.state.Next) {
		a.state.Next = a.spared
	}
	return nil
}

func (a *Address) poll(ctx context.Context) (fetched, error) {
	got, err := a.fetch(ctx)
	switch {
	case err != nil:
		return got, err
	case got.unchanged:
		return got, a.unchanged(got)
	}
	digest := digestOf(got.body)
	if digest != a.state.Digest {
		d := Document{
			Source: a.options.Source.Name, Format: a.options.Source.Format, Body: got.body,
			Received: a.options.Clock.Now().UTC(), Zone: a.options.Zone,
		}
		parsed, err := a.options.Parse(d)
		if err != nil {
			err = unnamed(a.options.Source.Name, err)
			if a.options.Refuse != nil {
				a.options.Refuse(d, err)
			}
			return got, fmt.Errorf("what came is no forecast: %w", err)
		}
		if err := a.options.Intake(ctx, d, parsed); err != nil {
			return got, err
		}
	}
	a.state.Digest = digest
	a.mark(got)
	return got, nil
}

// unchanged takes what a 304 says of the document we have. One with another strong
// mark speaks of another document (RFC 9111 section 4.3.4): the next request
// asks for it whole.
func (a *Address) unchanged(got fetched) error {
	etag := got.header.Get("ETag")
	switch {
	case a.state.ETag == "" && a.state.Modified == "":
		return errors.New("the server answered that nothing has changed, though it was asked for the whole document")
	case strong(etag) && strong(a.state.ETag) && etag != a.state.ETag:
		a.state.ETag, a.state.Modified = "", ""
		return errors.New("the server answered that nothing has changed, but of another document than ours; it is asked for whole next time")
	}
	a.mark(got)
	return nil
}

// mark keeps the marks that an answer gives; a 304 need not repeat all of them. A
// server that asks not to store its answer is asked for it whole each time.
func (a *Address) mark(got fetched) {
	etag, modified := got.header.Get("ETag"), got.header.Get("Last-Modified")
	switch {
	case got.control("no-store"):
		a.state.ETag, a.state.Modified = "", ""
	case got.unchanged:
		if etag != "" {
			a.state.ETag = etag
		}
		if modified != "" {
			a.state.Modified = modified
		}
	default:
		a.state.ETag, a.state.Modified = etag, modified
	}
}

func digestOf(body []byte) string {
	sum := sha256.Sum256(body)
	return hex.EncodeToString(sum[:])
}
