package store

import (
	"encoding/hex"
	"strings"
	"time"
)

// How a key is packed, by its first byte. A reading's key mostly repeats its source and
// its time, which stand beside it already.
const (
	keyWhole    = 'k' // as it is
	keyNumbered = '#' // what follows the source's name: the transport's number and the rest
	keyDevice   = '@' // source@time/digest, the time to the millisecond
	keyReceived = '~' // source~time/digest, the same
)

// packKey makes a key short; unpackKey undoes it.
func packKey(key, source string, at int64) []byte {
	rest, ok := strings.CutPrefix(key, source)
	if !ok || rest == "" {
		return append([]byte{keyWhole}, key...)
	}
	if rest[0] == keyNumbered {
		return []byte(rest)
	}
	if rest[0] == keyDevice || rest[0] == keyReceived {
		stamp, sum, _ := strings.Cut(rest[1:], "/")
		t, err1 := time.Parse(time.RFC3339Nano, stamp)
		digest, err2 := hex.DecodeString(sum)
		if err1 == nil && err2 == nil && len(digest) == 8 && t.UnixMilli() == at {
			// Of a clock finer than a millisecond the rest, ns, goes in front.
			fine := t.Nanosecond() % 1e6
			packed := append([]byte{rest[0], byte(fine), byte(fine >> 8), byte(fine >> 16)}, digest...)
			if unpackKey(packed, source, at) == key {
				return packed
			}
		}
	}
	return append([]byte{keyWhole}, key...)
}

func unpackKey(packed []byte, source string, at int64) string {
	switch {
	case len(packed) == 0:
		return ""
	case packed[0] == keyNumbered:
		return source + string(packed)
	case (packed[0] == keyDevice || packed[0] == keyReceived) && len(packed) == 12:
		t := fromMillis(at).Add(time.Duration(int(packed[1]) | int(packed[2])<<8 | int(packed[3])<<16))
		return source + string(packed[:1]) + t.Format(time.RFC3339Nano) + "/" + hex.EncodeToString(packed[4:])
	}
	return string(packed[1:])
}
