package bus

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	mqtt "github.com/eclipse/paho.mqtt.golang"
)

// childDir, when set, makes the test binary a daemon on that folder, to be killed.
const childDir = "FAIRWINDOW_BUS_TEST_CHILD"

func TestMain(m *testing.M) {
	if dir := os.Getenv(childDir); dir != "" {
		run := child
		if os.Getenv(childOf) == "subjects" {
			run = subjectsChild
		}
		if err := run(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// child commits device messages to a file, synced before they are acknowledged, until it is
// killed.
func child(dir string) error {
	ctx := context.Background()
	b, err := Open(ctx, Options{StoreDir: filepath.Join(dir, "bus"), MQTTAddr: "127.0.0.1:0"})
	if err != nil {
		return err
	}
	keep, err := keepsIn(filepath.Join(dir, "committed"))
	if err != nil {
		return err
	}
	fmt.Println(b.MQTTAddr())
	return b.Intake(ctx, keep)
}

// keepsIn commits what arrives to a file, a message a line.
func keepsIn(path string) (func(context.Context, []Arrival) error, error) {
	file, err := os.OpenFile(path, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	return func(_ context.Context, batch []Arrival) error {
		var lines strings.Builder
		for _, a := range batch {
			lines.Write(a.Payload)
			lines.WriteByte('\n')
		}
		if _, err := file.WriteString(lines.String()); err != nil {
			return err
		}
		return file.Sync()
	}, err
}

// Killed in full flight, time and again from the very first boot on, the daemon loses no message
// that a device was told is stored.
func TestKilledInFullFlight(t *testing.T) {
	if testing.Short() {
		t.Skip("starts and kills processes")
	}
	t.Parallel()
	ctx := within(t)
	dir := t.TempDir()
	acknowledged := map[string]bool{}
	for round := range 3 {
		flight(t, ctx, dir, round, acknowledged)
	}

	b := open(t, ctx, Options{StoreDir: filepath.Join(dir, "bus"), MQTTAddr: "127.0.0.1:0"})
	rest := take(t, ctx, b, accept)
	drained(t, ctx, b)
	committed, err := os.ReadFile(filepath.Join(dir, "committed"))
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]bool{}
	for line := range strings.Lines(string(committed)) {
		got[strings.TrimSpace(line)] = true
	}
	for len(rest) > 0 {
		got[string((<-rest).Payload)] = true
	}
	lost := 0
	for id := range acknowledged {
		if !got[id] {
			lost++
		}
	}
	if lost > 0 {
		t.Errorf("%d of %d acknowledged messages lost", lost, len(acknowledged))
	}
}

// flight starts the child, has a device publish from the moment the port is open, and kills the
// child while messages are still under way.
func flight(t *testing.T, ctx context.Context, dir string, round int, acknowledged map[string]bool) {
	t.Helper()
	cmd := exec.CommandContext(ctx, os.Args[0])
	cmd.Env = append(os.Environ(), childDir+"="+dir)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer cmd.Wait()
	defer cmd.Process.Kill()
	addr, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	c := device(t, strings.TrimSpace(addr), "", "")
	const flying, before = 400, 250
	ids, tokens := make([]string, flying), make([]mqtt.Token, flying)
	for i := range flying {
		ids[i] = strconv.Itoa(round) + "-" + strconv.Itoa(i)
		tokens[i] = c.Publish("yard/booth1", 1, false, ids[i])
	}
	for i := range before {
		if err := done(t, tokens[i]); err != nil {
			t.Fatal(err)
		}
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	cmd.Wait()
	c.Disconnect(0) // ends the tokens that will get no answer
	for i, token := range tokens {
		select {
		case <-token.Done():
			if token.Error() == nil {
				acknowledged[ids[i]] = true
			}
		default:
		}
	}
	if len(acknowledged) < before*(round+1) {
		t.Fatalf("only %d acknowledged by round %d", len(acknowledged), round)
	}
}
