package bundle

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/daemon/record"
	"fairwindow/planner"
)

var noon = time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)

// signed is a bundle of a record that was signed.
func signed(t testing.TB) []byte {
	t.Helper()
	text := []byte("{\"form\": 1}\n")
	g := []record.Signature{{ID: 3, Key: planner.Key{Boat: "Alder"}, Act: record.Signed, By: "Rui", Role: "manager", At: noon, Digest: record.Sum(text)}}
	names, err := json.Marshal(g)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	w := NewWriter(&b, noon)
	for _, f := range []struct {
		name string
		text []byte
	}{{"README.txt", []byte("plain words")}, {"record.json", text}, {"signatures.json", names}, {"signed/3.json", text}, {"readings.csv", bytes.Repeat([]byte("1,2,3\r\n"), 5000)}} {
		if err := w.Add(f.name, func(w io.Writer) error { _, err := w.Write(f.text); return err }); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func verified(text []byte) (Verified, error) {
	return Verify(bytes.NewReader(text), int64(len(text)))
}

func TestABundleVerifies(t *testing.T) {
	text := signed(t)
	v, err := verified(text)
	if err != nil || len(v.Faults) > 0 || v.Files != 5 || !v.Matches[3] || v.Digest != v.Signed[0].Digest {
		t.Fatalf("%+v, %v", v, err)
	}
	if !bytes.Equal(text, signed(t)) {
		t.Error("the same files give other bytes")
	}
}

// Any byte of what is in the files, flipped, is found.
func TestAFlippedByteIsFound(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		text := signed(t)
		z, err := zip.NewReader(bytes.NewReader(bytes.Clone(text)), int64(len(text)))
		if err != nil {
			rt.Fatal(err)
		}
		f := z.File[rapid.IntRange(0, len(z.File)-1).Draw(rt, "file")]
		from, err := f.DataOffset()
		if err != nil {
			rt.Fatal(err)
		}
		text[from+rapid.Int64Range(0, int64(f.CompressedSize64)-1).Draw(rt, "byte")] ^= byte(rapid.IntRange(1, 255).Draw(rt, "by"))
		v, err := verified(text)
		if err == nil && len(v.Faults) == 0 {
			// Deflate has bits that mean nothing; then the text is what it was.
			if v.Files != 5 || !v.Matches[3] {
				rt.Fatalf("%s was changed, and nothing said so: %+v", f.Name, v)
			}
			is, _ := zip.NewReader(bytes.NewReader(text), int64(len(text)))
			for i, f := range is.File {
				a, _ := z.File[i].Open()
				b, _ := f.Open()
				was, _ := io.ReadAll(a)
				now, _ := io.ReadAll(b)
				if !bytes.Equal(was, now) {
					rt.Fatalf("%s was changed, and nothing said so", f.Name)
				}
			}
		}
	})
}

// Whoever makes the manifest anew is found by what was signed.
func TestWhatIsNotAsItWas(t *testing.T) {
	for name, c := range map[string]struct {
		change func(map[string]string)
		says   string
	}{
		"another text":           {func(f map[string]string) { f["README.txt"] = "other words" }, "README.txt: is not what it was"},
		"a file less":            {func(f map[string]string) { delete(f, "readings.csv") }, "readings.csv: is missing"},
		"a file more":            {func(f map[string]string) { f["more.txt"] = "x" }, "more.txt: is not in the manifest"},
		"the signed record":      {func(f map[string]string) { f["signed/3.json"] = "{}"; remade(f) }, "signed/3.json: is not what Rui signed"},
		"the signatures":         {func(f map[string]string) { f["signatures.json"] = "{"; remade(f) }, "signatures.json: can't be read"},
		"no signatures":          {func(f map[string]string) { delete(f, "signatures.json"); remade(f) }, "signatures.json: is missing"},
		"no signed record there": {func(f map[string]string) { delete(f, "signed/3.json"); remade(f) }, "signed/3.json: is not what Rui signed"},
	} {
		t.Run(name, func(t *testing.T) {
			files := unpacked(t, signed(t))
			c.change(files)
			v, err := verified(packed(t, files))
			if err != nil || !strings.Contains(strings.Join(v.Faults, "\n"), c.says) {
				t.Errorf("%q, %v; want %q", v.Faults, err, c.says)
			}
		})
	}
	for _, text := range [][]byte{nil, []byte("PK"), packed(t, map[string]string{"a": "b"})} {
		if _, err := verified(text); err == nil || !strings.Contains(err.Error(), "no bundle of fairwindow") {
			t.Errorf("%.10q: %v", text, err)
		}
	}
}

func unpacked(t *testing.T, text []byte) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(text), int64(len(text)))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{}
	for _, f := range z.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		files[f.Name] = string(text)
	}
	return files
}

func packed(t *testing.T, files map[string]string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range files {
		w, err := z.Create(name)
		if err == nil {
			_, err = io.WriteString(w, text)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// remade makes the manifest fit the files again.
func remade(files map[string]string) {
	var b strings.Builder
	for name, text := range files {
		if name != manifest {
			b.WriteString(record.Sum([]byte(text)) + "  " + name + "\n")
		}
	}
	files[manifest] = b.String()
}

// The manifest is one that sha256sum reads, so that nobody needs this program.
func TestSha256sumReadsTheManifest(t *testing.T) {
	sha256sum, err := exec.LookPath("sha256sum")
	if err != nil {
		t.Skip("there is no sha256sum here")
	}
	dir := t.TempDir()
	for name, text := range unpacked(t, signed(t)) {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o750); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	check := exec.Command(sha256sum, "-c", "--strict", manifest)
	check.Dir = dir
	if out, err := check.CombinedOutput(); err != nil || strings.Count(string(out), ": OK") != 5 {
		t.Errorf("%s%v", out, err)
	}
}

func FuzzVerify(f *testing.F) {
	f.Add(signed(f))
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\x00", 18)))
	f.Fuzz(func(t *testing.T, text []byte) {
		if v, err := verified(text); err == nil && len(v.Faults) == 0 && v.Files == 0 && v.Signed == nil {
			t.Errorf("nothing in it, and no fault: %+v", v)
		}
	})
}
