package door

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"golang.org/x/crypto/argon2"
)

// Cost is what one password costs to try.
type Cost struct {
	Memory  uint32 // KiB
	Passes  uint32
	Threads uint8
}

// usualCost is 19 MiB, two passes, one thread: the least that the OWASP cheat sheet on
// password storage asks of argon2id (from memory). RFC 9106's second choice, 64 MiB and three
// passes, would take a small machine a tenth of a second of each try.
func usualCost() Cost { return Cost{Memory: 19 * 1024, Passes: 2, Threads: 1} }

// Bounds of what is read: a damaged row must not ask for all the memory.
const (
	mostMemory  = 256 * 1024 // KiB
	mostPasses  = 16
	mostThreads = 8
	saltLength  = 16 // RFC 9106, 3.1: 16 bytes are recommended
	tagLength   = 32 // RFC 9106, 4: 256 bits
)

// kept is a password as it is stored.
type kept struct {
	cost Cost
	salt []byte
	tag  []byte
}

// String is the PHC string format: $argon2id$v=19$m=19456,t=2,p=1$salt$tag, in base64
// without padding.
func (k kept) String() string {
	code := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, k.cost.Memory, k.cost.Passes, k.cost.Threads,
		code.EncodeToString(k.salt), code.EncodeToString(k.tag))
}

// errNotKept says that a stored password can't be read. It never says what stands there.
var errNotKept = errors.New("the stored password is not $argon2id$v=19$m=…,t=…,p=…$salt$tag: let a manager invite the person again")

// parse reads a stored password, strictly: as String writes it and no other way.
func parse(text string) (kept, error) {
	parts := strings.Split(text, "$")
	if len(parts) != 6 || parts[0] != "" || parts[1] != "argon2id" || parts[2] != "v="+strconv.Itoa(argon2.Version) {
		return kept{}, errNotKept
	}
	var k kept
	fields := strings.Split(parts[3], ",")
	if len(fields) != 3 {
		return kept{}, errNotKept
	}
	for i, f := range []struct {
		name  string
		most  uint64
		write func(uint64)
	}{
		{"m=", mostMemory, func(n uint64) { k.cost.Memory = uint32(n) }},
		{"t=", mostPasses, func(n uint64) { k.cost.Passes = uint32(n) }},
		{"p=", mostThreads, func(n uint64) { k.cost.Threads = uint8(n) }},
	} {
		digits, named := strings.CutPrefix(fields[i], f.name)
		n, err := strconv.ParseUint(digits, 10, 32)
		if !named || err != nil || n < 1 || n > f.most {
			return kept{}, errNotKept
		}
		f.write(n)
	}
	// RFC 9106, 3.1: at least 8 KiB for each thread.
	if k.cost.Memory < 8*uint32(k.cost.Threads) {
		return kept{}, errNotKept
	}
	code := base64.RawStdEncoding.Strict()
	var salt, tag error
	k.salt, salt = code.DecodeString(parts[4])
	k.tag, tag = code.DecodeString(parts[5])
	if salt != nil || tag != nil || len(k.salt) < 8 || len(k.salt) > 64 || len(k.tag) < 16 || len(k.tag) > 64 || k.String() != text {
		return kept{}, errNotKept
	}
	return k, nil
}

func (k kept) of(password string) []byte {
	return argon2.IDKey([]byte(password), k.salt, k.cost.Passes, k.cost.Memory, k.cost.Threads, uint32(len(k.tag)))
}

// is reports whether a password is the kept one, in a time that does not tell how nearly.
func (k kept) is(password string) bool { return subtle.ConstantTimeCompare(k.of(password), k.tag) == 1 }

// fresh keeps a password under a salt of its own.
func fresh(password string, c Cost) kept {
	k := kept{cost: c, salt: make([]byte, saltLength), tag: make([]byte, tagLength)}
	_, _ = rand.Read(k.salt) // it never fails: the program would end
	k.tag = k.of(password)
	return k
}
