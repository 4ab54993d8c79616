package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/ledongthuc/pdf"

	"fairwindow/planner"
)

// TestRecordInABrowser lives through what a painter enters and what a manager corrects,
// signs and downloads, before the real daemon.
func TestRecordInABrowser(t *testing.T) {
	browser := openBrowser(t)
	for _, screen := range screens {
		t.Run(screen.name, func(t *testing.T) {
			y := openPlayedYard(t)
			y.paints(t)
			one := openTab(t, browser, y.web.url, screen)
			painterEntersFilm(t, y, one)
			managerSignsOff(t, y, one)
		})
	}
}

var primer = planner.Key{Boat: "Boat Dunlin", Area: "topsides", Stage: "high-build primer"}

// paints reports a coat whose second pass was pressed too soon.
func (y *playedYard) paints(t *testing.T) {
	t.Helper()
	y.damp = false
	y.steps(t, time.Hour)
	for i, p := range []planner.Press{{Kind: planner.Override, Note: "by my decision"}, {Kind: planner.PassDone, Pass: 1}, {Kind: planner.PassDone, Pass: 2}} {
		p.Key, p.By, p.Once = primer, "Ana", fmt.Sprint("paints ", i)
		if err := y.service.Press(t.Context(), p); err != nil {
			t.Fatal(err)
		}
		y.steps(t, 30*time.Minute)
	}
}

// The painter enters batches and a film reading at the coat; one with a slip of its unit
// comes back as it was filled in.
func painterEntersFilm(t *testing.T, y *playedYard, b *tab) {
	b.open("/boat/Boat Dunlin/record")
	b.sees(".coat h2", primer.Stage)
	b.press(".coat .adding summary")
	add := ".coat .adding "
	b.fill(add+"input[name=by]", "Ana")
	b.fill(add+"input[name=wet]", "1200 mm")
	b.fill(add+"input[name=with]", "comb 2")
	b.fill(add+"input[name=base_batch]", "B-17")
	b.press(add + "button.main")
	b.sees(add+"[role=alert]", "was it 1200 um?")
	if kept := b.value(add + "input[name=base_batch]"); kept != "B-17" {
		t.Errorf("after a mistake the batch reads %q", kept)
	}
	b.set(add+"input[name=wet]", "110 120 115")
	b.press(add + "button.main")
	b.sees(".said", "Entered into the record.")
	b.sees(".coat", "base batch B-17", "wet film 110, 120, 115 µm", "mean 115 µm")
	b.fits()
}

// The manager strikes the pass that was pressed too soon, reads the record, signs it off,
// and has it as a PDF; from then on nothing is taken into it.
func managerSignsOff(t *testing.T, y *playedYard, b *tab) {
	b.open("/boat/Boat Dunlin")
	b.press(`.reported tr:has(th[scope=row]) a[aria-label*="pass 2"]`)
	strike := "form[action$='/strike'] "
	b.press(strike + "button")
	b.sees(strike+"[role=alert]", "Write why")
	b.set(strike+"input[name=by]", "Rui")
	b.fill(strike+"textarea[name=why]", "pressed too soon")
	b.fits()
	b.press(strike + "button")
	b.sees(".said", "Struck through.")
	b.sees(".struck s", "pass 2")
	b.sees(".struck", "Struck through by Rui", "pressed too soon")
	if s := y.reported(t, primer); s.Done || len(s.Passes) != 1 {
		t.Errorf("after the strike the coat is %+v", s)
	}

	b.press("section[aria-labelledby=record] a.button")
	sign := "section[aria-labelledby=signatures] .signing "
	b.press(sign + "summary")
	b.set(sign+"input[name=by]", "Rui")
	b.press(sign + "button.main")
	b.sees(".said", "Signed off.")
	b.sees(".signature", "Rui, manager, signed off the whole record", "SHA-256")
	if n := b.count(".coat .adding"); n != 0 {
		t.Errorf("%d forms still add to what is signed off", n)
	}
	b.fits()
	err := y.service.Press(t.Context(), planner.Press{Kind: planner.PassDone, Key: primer, Pass: 2, By: "Ana"})
	if err == nil || !strings.Contains(err.Error(), "Rui signed off") {
		t.Errorf("a pass after the signature: %v", err)
	}

	text := get(b, chromedp.Evaluate[[]int](`fetch(document.querySelector(".files a").href).then(r => r.arrayBuffer()).then(b => Array.from(new Uint8Array(b)))`, chromedp.EvalAwaitPromise))
	file := make([]byte, len(text))
	for i, c := range text {
		file[i] = byte(c)
	}
	is, err := pdf.NewReader(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	words, err := is.Page(is.NumPage()).GetPlainText(nil)
	if err != nil || !strings.Contains(words, "signed off the whole record") {
		t.Errorf("the last page of the PDF says %q, %v", words, err)
	}
}

// What the daemon's store holds is written by a command while it runs, and a bundle that
// was changed is found.
func TestRecordAtTheCommandLine(t *testing.T) {
	y := openPlayedYard(t)
	y.paints(t)
	dir := t.TempDir()
	yard := filepath.Join(dir, "yard")
	command := func(want int, says string, args ...string) string {
		t.Helper()
		var out, talk bytes.Buffer
		if code := run(args, &out, &talk); code != want || !strings.Contains(out.String()+talk.String(), says) {
			t.Fatalf("%q ends with %d and says\n%s%s\nwant %d and %q", args, code, out.String(), talk.String(), want, says)
		}
		return out.String()
	}
	command(0, "", "init", yard)
	state := y.state
	zip, file, table := filepath.Join(dir, "a.zip"), filepath.Join(dir, "a.pdf"), filepath.Join(dir, "a.csv")
	command(0, "written: "+zip, "record", yard, "Boat Dunlin", "--state", state, "--pdf", file, "--csv", table, "--evidence", zip)
	canonical := command(0, `"stage": "high-build primer"`, "record", yard, "Boat Dunlin", "--state", state)
	if page, err := os.ReadFile(file); err != nil || !bytes.HasPrefix(page, []byte("%PDF-")) {
		t.Errorf("the PDF begins %.8q, %v", page, err)
	}
	said := command(0, "all is as it was", "verify", zip)
	is, err := y.service.Record(t.Context(), "Boat Dunlin")
	if err != nil {
		t.Fatal(err)
	}
	text, err := is.Canonical()
	digest, _ := is.Digest()
	if err != nil || string(text) != canonical || !strings.Contains(said, digest) {
		t.Errorf("the command's record is not the daemon's, or another was verified: %v", err)
	}
	whole, err := os.ReadFile(zip)
	if err != nil {
		t.Fatal(err)
	}
	whole[len(whole)/3] ^= 1
	if err := os.WriteFile(zip, whole, 0o600); err != nil {
		t.Fatal(err)
	}
	command(1, "NOT AS IT WAS", "verify", zip)
	command(2, "no bundle", "verify", table)
	command(2, `no boat "Nobody"`, "record", yard, "Nobody", "--state", state)
}
