package store

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"fairwindow/notify"
	"fairwindow/sensors"
)

const childFolder = "FAIRWINDOW_STORE_TEST_FOLDER"

// TestChildThatIsKilled is the process that TestKilled starts: it commits
// readings, each with a notice, and says which are committed.
func TestChildThatIsKilled(t *testing.T) {
	dir := os.Getenv(childFolder)
	if dir == "" {
		t.Skip("runs only as the child of TestKilled")
	}
	s := open(t, dir)
	for i := range 100_000 {
		commit(t, s, Change{Readings: []sensors.Reading{reading(i)}, Notices: []notify.Notice{notice(i)},
			Deliveries: []notify.Delivery{delivery(notice(i), "Ines", notify.ByMail, noon)}})
		fmt.Printf("committed %d\n", i)
	}
}

// What was acknowledged is there after a kill -9, once, each reading with the
// notice it caused, and the next start needs no help. A process that dies shows
// nothing of a power cut; for that there is synchronous=FULL.
func TestKilled(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	most := -1 // of all rounds: a child that is killed late leaves more than the next one says
	for round := range 3 {
		child := exec.Command(os.Args[0], "-test.run=^TestChildThatIsKilled$")
		child.Env = append(os.Environ(), childFolder+"="+dir)
		out, err := child.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := child.Start(); err != nil {
			t.Fatal(err)
		}
		last, enough := -1, 50*(round+1)
		for lines := bufio.NewScanner(out); lines.Scan(); {
			if n, ok := strings.CutPrefix(lines.Text(), "committed "); ok {
				if last, err = strconv.Atoi(n); err != nil {
					t.Fatal(err)
				}
			}
			if last == enough {
				child.Process.Kill()
			}
		}
		child.Wait()
		if last < enough {
			t.Fatalf("the child ended by itself after %d", last)
		}
		most = max(most, last)
		s := open(t, dir)
		got := census(t, s)
		if got.readings <= most || got.readings > most+2 || got.notices != got.readings {
			t.Errorf("acknowledged %d, found %d readings and %d notices", most+1, got.readings, got.notices)
		}
		if owed, err := s.Deliveries(t.Context(), noon.AddDate(1, 0, 0)); err != nil || len(owed) != got.notices {
			t.Errorf("found %d deliveries still to go out, %v, of %d notices", len(owed), err, got.notices)
		}
		var verdict string
		if err := s.reader.QueryRow(`PRAGMA integrity_check`).Scan(&verdict); err != nil || verdict != "ok" {
			t.Errorf("integrity: %s, %v", verdict, err)
		}
		s.Close()
	}
}
