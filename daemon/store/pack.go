package store

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"github.com/klauspost/compress/zstd"
)

// packer compresses what is large and seldom read.
type packer struct {
	in  *zstd.Encoder
	out *zstd.Decoder
}

// unpackedMost bounds what a damaged file can make us allocate, bytes.
const unpackedMost = 256 << 20

func newPacker() (*packer, error) {
	in, err := zstd.NewWriter(nil, zstd.WithEncoderConcurrency(1), zstd.WithLowerEncoderMem(true))
	if err != nil {
		return nil, fmt.Errorf("set up compression: %w", err)
	}
	out, err := zstd.NewReader(nil, zstd.WithDecoderMaxMemory(unpackedMost))
	if err != nil {
		return nil, fmt.Errorf("set up compression: %w", err)
	}
	return &packer{in: in, out: out}, nil
}

// pack compresses a text; none stays none.
func (p *packer) pack(text []byte) []byte {
	if text == nil {
		return nil
	}
	return p.in.EncodeAll(text, make([]byte, 0, len(text)/4))
}

// unpack undoes pack.
func (p *packer) unpack(packed []byte) ([]byte, error) {
	if packed == nil {
		return nil, nil
	}
	return p.out.DecodeAll(packed, nil)
}

func (p *packer) close() { p.out.Close() }

// digest names a text by its content: SHA-256 in hexadecimal.
func digest(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}
