package door

import (
	"strings"
	"testing"
)

// Strings of the reference implementation's own test (phc-winner-argon2, src/test.c, from
// memory), which writes passwords in the same format: they tell that version, memory, passes,
// threads, salt and tag stand where others expect them. RFC 9106's own vector (5.3) has a
// secret and associated data, which the library does not take.
func TestReferenceStrings(t *testing.T) {
	for _, tt := range []struct{ password, kept string }{
		{"password", "$argon2id$v=19$m=256,t=2,p=1$c29tZXNhbHQ$nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4"},
		{"password", "$argon2id$v=19$m=256,t=2,p=2$c29tZXNhbHQ$bQk8UB/VmZZF4Oo79iDXuL5/0ttZwg2f/5U52iv1cDc"},
		{"password", "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"},
		{"differentpassword", "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$C4TWUs9rDEvq7w3+J4umqA32aWKB1+DSiRuBfYxFj94"},
	} {
		k, err := parse(tt.kept)
		if err != nil {
			t.Errorf("%s: %v", tt.kept, err)
			continue
		}
		if !k.is(tt.password) || k.is(tt.password+" ") {
			t.Errorf("%s is not what is kept of %q", tt.kept, tt.password)
		}
	}
}

// What stands in a damaged or foreign row is refused and not worked on, above all what would
// ask for all the memory.
func TestBadKept(t *testing.T) {
	good := fresh("a word of mine", Cost{Memory: 64, Passes: 1, Threads: 1}).String()
	if _, err := parse(good); err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{
		"", "$", "$argon2id$v=19$m=64,t=1,p=1$", good + "$", " " + good, good + "=",
		strings.Replace(good, "argon2id", "argon2i", 1), strings.Replace(good, "v=19", "v=16", 1),
		strings.Replace(good, "m=64", "m=4294967295", 1), strings.Replace(good, "m=64", "m=0", 1), strings.Replace(good, "m=64", "m=064", 1),
		strings.Replace(good, "m=64", "m=+64", 1), strings.Replace(good, "t=1", "t=999", 1), strings.Replace(good, "p=1", "p=9", 1),
		strings.Replace(good, "m=64,t=1", "t=1,m=64", 1), "$argon2id$v=19$m=64,t=1,p=1$c2FsdA$c2hvcnQ",
	} {
		if k, err := parse(bad); err == nil {
			t.Errorf("%q is read as %+v", bad, k)
		} else if strings.Contains(err.Error(), "c2Fs") {
			t.Errorf("the error shows what is kept: %v", err)
		}
	}
}

// FuzzParse: whatever is read is written again to the letter, within bounds.
func FuzzParse(f *testing.F) {
	f.Add("$argon2id$v=19$m=256,t=2,p=1$c29tZXNhbHQ$nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4")
	f.Add("$argon2id$v=19$m=19456,t=2,p=1$AAAAAAAAAAAAAAAAAAAAAA$AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA")
	f.Add("$argon2i$v=19$m=1,t=1,p=1$$")
	f.Fuzz(func(t *testing.T, text string) {
		k, err := parse(text)
		if err != nil {
			return
		}
		if k.String() != text || k.cost.Memory > mostMemory || k.cost.Passes > mostPasses || k.cost.Threads > mostThreads {
			t.Errorf("%q is read as %s", text, k)
		}
	})
}
