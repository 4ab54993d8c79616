package engine

import "math/bits"

// dice are numbers that look random and are the same for the same seed: SplitMix64
// (Steele, Lea & Flood 2014, from memory).
type dice uint64

func (d *dice) roll() uint64 {
	*d += 0x9e3779b97f4a7c15
	x := uint64(*d)
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// below is a number from 0 up to but not n, which is positive.
func (d *dice) below(n int32) int32 {
	high, _ := bits.Mul64(d.roll(), uint64(n))
	return int32(high)
}
