package sensors

import (
	"hash/fnv"
	"net/http"
	"strconv"
	"strings"
	"time"
)

const (
	// longestWait is the longest that a server may have us wait after a failure.
	longestWait = 24 * time.Hour
	// longestFresh is the longest that a document counts as the newest because its server
	// said so: a third of the age at which a forecast is none by default. Our judgement.
	longestFresh = 6 * time.Hour
	// firstWait is the wait after a first failure; it doubles up to slowest, or to the
	// source's own interval if that is longer. Our judgement.
	firstWait = time.Minute
	slowest   = time.Hour
)

// fresh is how long from now the document need not be asked for again: RFC 9111
// sections 4.2.1 (lifetime) and 4.2.3 (age). A server that says nothing of it has
// it asked for at the source's own interval; nothing is guessed from Last-Modified.
func (a fetched) fresh(now time.Time) time.Duration {
	if a.header == nil || a.control("no-store") || a.control("no-cache") {
		return 0
	}
	made, dated := httpTime(a.header, "Date")
	if !dated {
		made = now
	}
	lifetime, ok := a.seconds("max-age")
	if !ok {
		until, ok := httpTime(a.header, "Expires") // one that can't be read is past: RFC 9111 section 5.3
		if !ok {
			return 0
		}
		lifetime = until.Sub(made)
	}
	age := max(0, now.Sub(made))
	if n, ok := wholeSeconds(a.header.Get("Age")); ok {
		age = max(age, n)
	}
	return max(0, lifetime-age)
}

// retryAfter is how long the server asked to wait, as seconds or as a time: RFC
// 9110 section 10.2.3.
func (a fetched) retryAfter(now time.Time) time.Duration {
	if n, ok := wholeSeconds(a.header.Get("Retry-After")); ok {
		return min(n, longestWait)
	}
	if at, ok := httpTime(a.header, "Retry-After"); ok {
		return min(max(0, at.Sub(now)), longestWait)
	}
	return 0
}

// control reports whether Cache-Control has a directive: RFC 9111 section 5.2. Names
// are of either case. One with field names in it counts as one without.
func (a fetched) control(name string) bool {
	_, ok := a.directive(name)
	return ok
}

func (a fetched) seconds(name string) (time.Duration, bool) {
	text, ok := a.directive(name)
	if !ok {
		return 0, false
	}
	n, ok := wholeSeconds(text)
	return n, ok
}

func (a fetched) directive(name string) (string, bool) {
	for _, line := range a.header.Values("Cache-Control") {
		for _, part := range strings.Split(line, ",") {
			key, value, _ := strings.Cut(strings.TrimSpace(part), "=")
			if strings.EqualFold(strings.TrimSpace(key), name) {
				return strings.Trim(strings.TrimSpace(value), `"`), true
			}
		}
	}
	return "", false
}

// wholeSeconds reads delta-seconds: digits alone, of which too many count as the
// most (RFC 9111 section 1.2.2).
func wholeSeconds(text string) (time.Duration, bool) {
	const most = 1 << 31
	if text == "" || strings.Trim(text, "0123456789") != "" {
		return 0, false
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n > most {
		n = most
	}
	return time.Duration(n) * time.Second, true
}

// httpTime reads a header's time in any of the three forms of RFC 9110 section 5.6.7.
func httpTime(h http.Header, name string) (time.Time, bool) {
	at, err := http.ParseTime(h.Get(name))
	return at, err == nil
}

// strong reports whether an entity tag stands for the document byte by byte: RFC
// 9110 section 8.8.1.
func strong(etag string) bool { return strings.HasPrefix(etag, `"`) }

// backOff is the wait after so many failures in a row: doubling, and between half
// and all of it, so that a server that comes back is not met by everybody at once.
// Chance is drawn from the address and the time, so that a played clock tells one story.
func backOff(s AddressState, now time.Time, every time.Duration) time.Duration {
	most := max(every, slowest)
	wait := most
	if doublings := s.Failed - 1; doublings < 16 {
		wait = min(most, firstWait<<max(0, doublings))
	}
	h := fnv.New64a()
	_, _ = h.Write([]byte(s.Of + now.UTC().Format(time.RFC3339Nano) + strconv.Itoa(s.Failed)))
	part := float64(h.Sum64()>>11) / (1 << 53)
	return wait/2 + time.Duration(part*float64(wait/2))
}
