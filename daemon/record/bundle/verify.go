package bundle

import (
	"archive/zip"
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"fairwindow/daemon/record"
)

// Verified is what was found in a bundle.
type Verified struct {
	Files   int                // that are as the manifest says
	Faults  []string           // in words, each a file that is not; none: all is as it was
	Digest  string             // of record.json as it is
	Signed  []record.Signature // in the bundle, with the digests that were signed
	Matches map[int64]bool     // by signature: the record in the bundle is what was signed
}

// small is the most that is read whole, of the manifest and of the signatures.
const small = 16 << 20

// Verify reads a bundle against its manifest, and each signed record against the digest
// that its signature names. An error is a file that is no bundle at all.
func Verify(r io.ReaderAt, size int64) (Verified, error) {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return Verified{}, fmt.Errorf("it is no bundle of fairwindow: %w", err)
	}
	found := map[string]string{}
	v := Verified{Matches: map[int64]bool{}}
	var promised []string
	sums := map[string]string{}
	var signatures []byte
	for _, f := range z.File {
		if _, twice := found[f.Name]; twice {
			v.Faults = append(v.Faults, f.Name+": stands in it twice")
		}
		var whole strings.Builder
		sum, err := read(f, &whole)
		if err != nil {
			v.Faults = append(v.Faults, fmt.Sprintf("%s: can't be read: %v", f.Name, err))
		}
		found[f.Name] = sum
		switch f.Name {
		case manifest:
			promised, sums = lines(whole.String())
		case "signatures.json":
			signatures = []byte(whole.String())
		}
	}
	if _, there := found[manifest]; !there {
		return v, fmt.Errorf("it has no file %s, so it is no bundle of fairwindow", manifest)
	}
	for _, name := range promised {
		sum, there := found[name]
		switch {
		case !there:
			v.Faults = append(v.Faults, name+": is missing")
		case sum != sums[name]:
			v.Faults = append(v.Faults, name+": is not what it was: its SHA-256 is "+sum+", the manifest says "+sums[name])
		default:
			v.Files++
		}
	}
	for _, f := range z.File {
		if f.Name != manifest && sums[f.Name] == "" {
			v.Faults = append(v.Faults, f.Name+": is not in the manifest")
		}
	}
	v.Digest = found["record.json"]
	v.signed(signatures, found)
	slices.Sort(v.Faults)
	return v, nil
}

// signed holds each signed record against its signature.
func (v *Verified) signed(text []byte, found map[string]string) {
	if text == nil {
		v.Faults = append(v.Faults, "signatures.json: is missing")
		return
	}
	if err := json.Unmarshal(text, &v.Signed); err != nil {
		v.Faults = append(v.Faults, fmt.Sprintf("signatures.json: can't be read: %v", err))
		return
	}
	for _, g := range v.Signed {
		if g.Act != record.Signed {
			continue
		}
		name := SignedName(g)
		if sum := found[name]; sum != g.Digest {
			v.Faults = append(v.Faults, fmt.Sprintf("%s: is not what %s signed, whose SHA-256 is %s", name, g.By, g.Digest))
			continue
		}
		v.Matches[g.ID] = v.Digest == g.Digest
	}
}

// SignedName is where the record under a signature stands in a bundle.
func SignedName(g record.Signature) string { return fmt.Sprintf("signed/%d.json", g.ID) }

// read gives a file's sum; of a small one its text too.
func read(f *zip.File, whole *strings.Builder) (string, error) {
	in, err := f.Open()
	if err != nil {
		return "", err
	}
	defer in.Close()
	sum := sha256.New()
	var to io.Writer = sum
	if f.UncompressedSize64 <= small && (f.Name == manifest || f.Name == "signatures.json") {
		to = io.MultiWriter(sum, whole)
	}
	_, err = io.Copy(to, in)
	return hex.EncodeToString(sum.Sum(nil)), err
}

func lines(text string) (names []string, sums map[string]string) {
	sums = map[string]string{}
	for in := bufio.NewScanner(strings.NewReader(text)); in.Scan(); {
		if sum, name, ok := strings.Cut(in.Text(), "  "); ok {
			names, sums[name] = append(names, name), sum
		}
	}
	return names, sums
}
