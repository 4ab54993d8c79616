package sensors

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/config"
)

// fetchTimeout bounds one request from its start to the last byte.
const fetchTimeout = 30 * time.Second

// Address fetches the forecast at a URL. It sends back the ETag and the time
// that the server gave, so that an unchanged forecast costs neither side much.
type Address struct {
	options  AddressOptions
	etag     string
	modified string
	digest   [sha256.Size]byte
}

// AddressOptions is what an Address needs.
type AddressOptions struct {
	Source config.Forecast
	Zone   *time.Location // the yard's
	Client *http.Client
	Agent  string // User-Agent: several weather services refuse requests without a name and a contact
	Parse  Parse
	Intake ForecastIntake
	Clock  clockwork.Clock
}

// NewAddress fetches from the source's URL.
func NewAddress(o AddressOptions) *Address { return &Address{options: o} }

// Poll fetches once. It takes a forecast in if it is another than the last;
// only then is the last one's mark replaced. The error names the source and
// says what the server answered; whether and when to try again is the caller's.
func (a *Address) Poll(ctx context.Context) error {
	if err := a.poll(ctx); err != nil {
		return fmt.Errorf("forecast %s: %w", a.options.Source.Name, err)
	}
	return nil
}

func (a *Address) poll(ctx context.Context) error {
	body, header, err := a.fetch(ctx)
	if err != nil || body == nil {
		return err
	}
	digest := sha256.Sum256(body)
	if digest != a.digest {
		d := Document{
			Source: a.options.Source.Name, Format: a.options.Source.Format, Body: body,
			Received: a.options.Clock.Now().UTC(), Zone: a.options.Zone,
		}
		parsed, err := a.options.Parse(d)
		if err != nil {
			return err
		}
		if err := a.options.Intake(ctx, d, parsed); err != nil {
			return err
		}
	}
	a.digest, a.etag, a.modified = digest, header.Get("ETag"), header.Get("Last-Modified")
	return nil
}

// fetch gets the document; a nil body is an unchanged one.
func (a *Address) fetch(ctx context.Context) ([]byte, http.Header, error) {
	ctx, cancel := context.WithTimeout(ctx, fetchTimeout)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, a.options.Source.URL, nil)
	if err != nil {
		return nil, nil, err
	}
	req.Header.Set("User-Agent", a.options.Agent)
	if a.etag != "" {
		req.Header.Set("If-None-Match", a.etag)
	}
	if a.modified != "" {
		req.Header.Set("If-Modified-Since", a.modified)
	}
	resp, err := a.options.Client.Do(req)
	var withURL *url.Error
	if errors.As(err, &withURL) {
		err = withURL.Err // without the address, which may hold a key
	}
	if err != nil {
		return nil, nil, err
	}
	defer resp.Body.Close()
	if resp.StatusCode == http.StatusNotModified {
		return nil, nil, nil
	}
	if resp.StatusCode/100 != 2 {
		again := ""
		if after := resp.Header.Get("Retry-After"); after != "" {
			again = "; it asks to wait: " + after
		}
		return nil, nil, fmt.Errorf("the server answered %s%s", resp.Status, again)
	}
	body, err := io.ReadAll(io.LimitReader(resp.Body, documentLimit+1))
	if err != nil {
		return nil, nil, fmt.Errorf("the answer broke off after %d bytes: %w", len(body), err)
	}
	if len(body) > documentLimit {
		return nil, nil, fmt.Errorf("the answer is longer than %d MiB; that is no forecast", documentLimit>>20)
	}
	return body, resp.Header, nil
}
