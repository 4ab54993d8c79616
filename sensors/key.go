package sensors

import (
	"crypto/sha256"
	"encoding/hex"
	"sort"
	"strconv"
	"strings"
	"time"
)

// Key makes a resend of a reading recognisable: its source with the device's
// time or the message's sequence, else with the time of receipt; and a digest
// of its values (of Raw, if there are none or nothing else tells), since one
// device may send two different messages in a second.
func Key(r Reading, sequence string) string {
	key, said := r.Source, contents(r)
	switch {
	case sequence != "":
		key += "#" + sequence
	case !r.FromDevice:
		key += "~" + r.Received.UTC().Format(time.RFC3339Nano)
		said += r.Raw
	}
	if r.FromDevice {
		key += "@" + r.At.UTC().Format(time.RFC3339Nano)
	}
	sum := sha256.Sum256([]byte(said))
	return key + "/" + hex.EncodeToString(sum[:8])
}

// numbered reports whether a reading's key has a number of its message's own, so that
// another number is another message.
func numbered(r Reading) bool { return strings.HasPrefix(r.Key, r.Source+"#") }

// contents is the same text for the same values.
func contents(r Reading) string {
	if len(r.Values) == 0 {
		return r.Raw
	}
	var parts []string
	for v, x := range r.Values {
		parts = append(parts, string(v)+"="+strconv.FormatFloat(x, 'g', -1, 64))
	}
	sort.Strings(parts)
	return strings.Join(parts, " ")
}
