package door

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
)

// Word is a fresh secret that is shown once: 256 random bits, as an address or a header takes them.
func Word() string {
	b := make([]byte, 32)
	_, _ = rand.Read(b) // it never fails: the program would end
	return base64.RawURLEncoding.EncodeToString(b)
}

// Print is what is kept of a secret word: its SHA-256. A word of 256 random bits can't be
// guessed, so that no slow hash is needed.
func Print(word string) []byte {
	sum := sha256.Sum256([]byte(word))
	return sum[:]
}

// Whole reports whether a text has the form of a Word: what has not is nobody's secret and
// need not be looked for.
func Whole(word string) bool {
	b, err := base64.RawURLEncoding.Strict().DecodeString(word)
	return err == nil && len(b) == 32 && len(word) == 43
}
