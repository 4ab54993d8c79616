// Package bundle answers one question: is the evidence still what it was? It writes
// files into a ZIP with a manifest of their SHA-256 sums, one after the other so that
// no bundle is too big, and reads one back against it.
package bundle

import (
	"archive/zip"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"strings"
	"time"
)

// manifest is the last file: a line for each other one, as sha256sum writes and reads it.
const manifest = "MANIFEST"

// Writer writes a bundle. The same files at the same time give the same bytes.
type Writer struct {
	zip  *zip.Writer
	at   time.Time
	sums strings.Builder
}

// NewWriter begins a bundle whose files all carry one time.
func NewWriter(w io.Writer, at time.Time) *Writer {
	if year := at.UTC().Year(); year < 1980 || year > 2107 {
		at = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC) // a ZIP knows no time before
	}
	return &Writer{zip: zip.NewWriter(w), at: at.UTC()}
}

// Add writes one file.
func (b *Writer) Add(name string, write func(io.Writer) error) error {
	sum := sha256.New()
	file, err := b.zip.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: b.at})
	if err == nil {
		err = write(io.MultiWriter(file, sum))
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	fmt.Fprintf(&b.sums, "%s  %s\n", hex.EncodeToString(sum.Sum(nil)), name)
	return nil
}

// Close writes the manifest and ends the bundle; without it nothing of it can be read.
func (b *Writer) Close() error {
	file, err := b.zip.CreateHeader(&zip.FileHeader{Name: manifest, Method: zip.Deflate, Modified: b.at})
	if err == nil {
		_, err = io.WriteString(file, b.sums.String())
	}
	if err != nil {
		return fmt.Errorf("%s: %w", manifest, err)
	}
	return b.zip.Close()
}
