package sensors

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"
)

const (
	// fetchWait bounds one request from its start to the last byte.
	fetchWait = 30 * time.Second
	// mostRedirects is how often a server may send a request on.
	mostRedirects = 5
)

// fetched is what a server said. Its header is there also beside an error, if
// there was an answer at all.
type fetched struct {
	header    http.Header
	unchanged bool
	body      []byte
}

// guarded is a client that follows few redirects, never from an encrypted address to
// a plain one, and tells no other server the address it comes from: that may
// hold a key.
func guarded(client *http.Client) *http.Client {
	own := *client
	own.CheckRedirect = func(to *http.Request, via []*http.Request) error {
		to.Header.Del("Referer")
		switch {
		case len(via) > mostRedirects:
			return fmt.Errorf("the server sent the request on more than %d times", mostRedirects)
		case to.URL.Scheme != "https" && via[0].URL.Scheme == "https":
			return errors.New("the server sent the request on to an address without encryption")
		}
		return nil
	}
	return &own
}

// fetch gets the document, whole and as its server has it now, or learns that it
// is unchanged.
func (a *Address) fetch(ctx context.Context) (fetched, error) {
	ctx, cancel := context.WithTimeout(ctx, a.options.Wait)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, a.options.Source.URL, nil)
	if err != nil {
		return fetched{}, withoutURL(err)
	}
	req.Header.Set("User-Agent", a.options.Agent)
	// A server that knows both goes by the ETag: RFC 9110 section 13.1.3.
	if a.state.ETag != "" {
		req.Header.Set("If-None-Match", a.state.ETag)
	}
	if a.state.Modified != "" {
		req.Header.Set("If-Modified-Since", a.state.Modified)
	}
	resp, err := a.client.Do(req)
	if err != nil {
		return fetched{}, a.late(withoutURL(err))
	}
	defer resp.Body.Close()
	got := fetched{header: resp.Header}
	switch resp.StatusCode {
	case http.StatusNotModified:
		got.unchanged = true
		return got, nil
	case http.StatusOK, http.StatusNonAuthoritativeInfo: // a service says by 203 that a form of document will end
	default: // another 2xx holds no document, or a part of one
		again := ""
		if after := resp.Header.Get("Retry-After"); after != "" {
			again = "; it asks to wait: " + after
		}
		return got, fmt.Errorf("the server answered %s%s", resp.Status, again)
	}
	// The transport unpacks gzip, the one coding it offers, and takes the header away.
	if coding := resp.Header.Get("Content-Encoding"); coding != "" && !strings.EqualFold(coding, "identity") {
		return got, fmt.Errorf("the answer is packed as %q, which was not offered", coding)
	}
	got.body, err = io.ReadAll(io.LimitReader(resp.Body, documentLimit+1))
	if err != nil {
		return got, fmt.Errorf("the answer broke off after %d bytes: %w", len(got.body), a.late(err))
	}
	if len(got.body) > documentLimit {
		return got, fmt.Errorf("the answer is longer than %d MiB; that is no forecast", documentLimit>>20)
	}
	return got, nil
}

// withoutURL is an error without the address, which may hold a key.
func withoutURL(err error) error {
	var with *url.Error
	if errors.As(err, &with) {
		return with.Err
	}
	return err
}

// late words the end of our patience.
func (a *Address) late(err error) error {
	if errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("no whole answer within %s", a.options.Wait)
	}
	return err
}
