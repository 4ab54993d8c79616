package demo

import (
	"encoding/binary"
	"hash/fnv"
	"math"
	"math/rand/v2"
)

// luck is a stream of chance named by its words. Streams are independent, so
// that one boat more or one plan changed leaves all other draws as they were.
func luck(seed uint64, words ...string) *rand.Rand {
	h := fnv.New64a()
	for _, w := range words {
		h.Write([]byte(w))
		h.Write([]byte{0})
	}
	var b [8]byte
	binary.LittleEndian.PutUint64(b[:], seed)
	h.Write(b[:])
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}

// between draws evenly from a range.
func between(r *rand.Rand, from, to float64) float64 { return from + (to-from)*r.Float64() }

// scatter draws a factor around 1, lognormal, so that work never takes no time.
func scatter(r *rand.Rand, sigma float64) float64 { return math.Exp(sigma * r.NormFloat64()) }

// persistence is a first-order autoregressive series of unit variance.
type persistence struct {
	keep  float64 // correlation from one step to the next
	value float64
}

// persist makes a series whose memory fades by 1/e in tau steps.
func persist(r *rand.Rand, tau float64) persistence {
	return persistence{keep: math.Exp(-1 / tau), value: r.NormFloat64()}
}

func (p *persistence) next(shock float64) float64 {
	p.value = p.keep*p.value + math.Sqrt(1-p.keep*p.keep)*shock
	return p.value
}

func clamp(v, least, greatest float64) float64 { return math.Max(least, math.Min(greatest, v)) }
