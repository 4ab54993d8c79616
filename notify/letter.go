package notify

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"
)

// ErrRefused is wrapped by what a way out returns when another try would end the same way.
var ErrRefused = errors.New("refused for good")

// LetterMost is how many notices one message carries at most; the rest come in the next.
const LetterMost = 40

// Letter is one message to one person by one way. It has the same ID at every try, so that who
// gets it twice can drop the second.
type Letter struct {
	ID     string
	Person string
	At     time.Time // of its first try
	Items  []Item    // in the order of issue
}

// Item is one notice of a letter, worded for its reader.
type Item struct {
	Notice   Notice
	Sentence string
}

// LetterID makes the ID of a letter from what it carries, for whom and by which way.
func LetterID(refs []Ref) string {
	sum := sha256.New()
	for _, r := range refs {
		fmt.Fprintf(sum, "%s\n%d\n%s\n%s\n", r.ID, r.Revision, r.Person, r.Way)
	}
	return hex.EncodeToString(sum.Sum(nil))[:32]
}

// Subject names a letter in a few words.
func (l Letter) Subject() string {
	if len(l.Items) == 1 {
		return Title(l.Items[0].Notice)
	}
	changes, urgent := 0, ""
	for _, i := range l.Items {
		if i.Notice.Kind == StageMoved || i.Notice.Kind == StagePutOff {
			changes++
		}
		if urgent == "" && i.Notice.Kind.Urgent() {
			urgent = Title(i.Notice)
		}
	}
	switch {
	case changes == len(l.Items):
		return fmt.Sprintf("Changes of plan: %d stages", changes)
	case urgent != "":
		return fmt.Sprintf("%s, and %d more", urgent, len(l.Items)-1)
	}
	return fmt.Sprintf("%d notices", len(l.Items))
}

// Text is the letter's body: a sentence to each paragraph.
func (l Letter) Text() string {
	var sentences []string
	for _, i := range l.Items {
		sentences = append(sentences, i.Sentence)
	}
	return strings.Join(sentences, "\n\n")
}

// Urgent reports whether any of the letter's notices is.
func (l Letter) Urgent() bool {
	for _, i := range l.Items {
		if i.Notice.Kind.Urgent() || i.Notice.Kind.breaks() {
			return true
		}
	}
	return false
}

// GiveUpAfter is how long a way out is tried for one letter.
const GiveUpAfter = 48 * time.Hour

// BackOff is the pause after so many tries that failed: 30 s, doubled each time, at most half an hour.
func BackOff(tries int) time.Duration {
	const least, most = 30 * time.Second, 30 * time.Minute
	if tries > 6 {
		return most
	}
	return min(least<<max(tries-1, 0), most)
}

// Stale drops, of what is due to be told for the first time, the offers that have ended meanwhile.
// What breaks through, or takes back what he was told, is told however late.
func Stale(due []Told, now time.Time) []Dropped {
	var out []Dropped
	for _, t := range due {
		if t.held() && !t.Notice.Kind.breaks() && t.Why != TakesBack && t.Notice.over(now) {
			out = append(out, Dropped{t.ref(), OverMeanwhile})
		}
	}
	return out
}
