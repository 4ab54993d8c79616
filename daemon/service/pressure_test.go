package service

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"fairwindow/planner"
)

// slowly has the service's planner wait in each plan until it is let go; entered tells
// of each plan that begins, with what it is made from.
func (r *rig) slowly() (entered <-chan planner.Problem, letGo func()) {
	begins, goes := make(chan planner.Problem, 100), make(chan struct{})
	r.svc.mu.Lock()
	defer r.svc.mu.Unlock()
	r.svc.solve = func(p planner.Problem) (*planner.Desk, planner.Plan, []planner.Broken, error) {
		begins <- p
		<-goes
		return solve(p)
	}
	return begins, func() { goes <- struct{}{} }
}

// begun waits for the next plan to begin. The clock may have been moved while the cycle was about
// to look at it, so the cycle is woken until it does.
func (r *rig) begun(entered <-chan planner.Problem) planner.Problem {
	r.t.Helper()
	for end := time.Now().Add(hangs); time.Now().Before(end); {
		select {
		case p := <-entered:
			return p
		case <-time.After(10 * time.Millisecond):
			r.svc.nudge()
		}
	}
	r.t.Fatal("no plan begins")
	return planner.Problem{}
}

// pin reports that a stage is pinned to an hour: a fact that needs a new plan.
func (r *rig) pin(hour int) {
	r.t.Helper()
	p := planner.Press{Kind: planner.Pinned, Key: first, Until: at(1, 7+hour%8, 0), By: "the scheduler"}
	if err := r.svc.Press(r.t.Context(), p); err != nil {
		r.t.Fatal(err)
	}
}

// TestFactsWhilePlanning: whatever comes while a plan is made, one more is made of all
// of it, and while facts come faster than plans, plans are made all the same, each from
// the newest.
func TestFactsWhilePlanning(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 6, 30))
	plans := r.metric("plans_total")
	entered, letGo := r.slowly()
	pressed := 1 // the arrival
	for round := range 4 {
		for range 5 {
			r.pin(pressed)
			pressed++
		}
		if round == 0 { // later ones are asked for while the one before is made
			r.clock.Advance(debounce)
			r.svc.mu.Lock()
			r.svc.wake() // it may have looked at the clock before, and begun to wait after
			r.svc.mu.Unlock()
		}
		p := r.begun(entered)
		if round == 0 && len(p.Presses) != pressed {
			t.Errorf("the first plan knows %d presses of %d", len(p.Presses), pressed)
		}
		for range 5 {
			r.pin(pressed)
			pressed++
			r.clock.Advance(debounce) // planning is slower than facts
		}
		letGo()
		if round == 3 {
			break
		}
	}
	p := r.begun(entered)
	if len(p.Presses) != pressed {
		t.Errorf("the last plan knows %d presses of %d", len(p.Presses), pressed)
	}
	letGo()
	r.settle()
	if made := r.metric("plans_total") - plans; made != 5 {
		t.Errorf("%v plans of four rounds of facts, want one for each and one more", made)
	}
	if len(entered) > 0 {
		t.Errorf("%d more plans are under way", len(entered))
	}
}

// TestEndsWhilePlanning: asked to end while a plan is made, the service does not wait for it.
func TestEndsWhilePlanning(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 6, 30))
	entered, letGo := r.slowly()
	r.pin(1)
	r.clock.Advance(debounce)
	r.begun(entered)
	r.halt() // or this test hangs
	letGo()
	r.start()
	if plan, id, err := r.svc.Draft(t.Context()); err != nil || id == 0 || len(plan.Stages) == 0 {
		t.Errorf("plan %d of %d stages, %v", id, len(plan.Stages), err)
	}
}

// TestStormOfPresses: three hundred presses at one moment are one plan; pressed on and on,
// one is made every debounce, neither more nor none.
func TestStormOfPresses(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 6, 30))
	plans := r.metric("plans_total")
	for i := range 300 {
		r.pin(i)
	}
	r.clock.Advance(debounce)
	r.settle()
	if made := r.metric("plans_total") - plans; made != 1 {
		t.Errorf("%v plans of three hundred presses", made)
	}
	plans = r.metric("plans_total")
	for i := range 100 { // for 20 s
		r.pin(i)
		r.clock.Advance(200 * time.Millisecond)
		r.settle()
	}
	if made := r.metric("plans_total") - plans; made < 9 || made > 10 {
		t.Errorf("%v plans in 20 s, want one every 2 s", made)
	}
}

// TestStormOfReadings: ten thousand readings are kept, each once, and ask for one plan
// at most, though each is far from what was expected.
func TestStormOfReadings(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 7, 30), good)
	plans, readings := r.metric("plans_total"), r.metric("readings_total")
	now := r.clock.Now()
	for part := range 10 {
		var b strings.Builder
		for i := range 1000 {
			n := part*1000 + i
			fmt.Fprintf(&b, `{"source": "air", "time": %q, "values": {"air": %g, "humidity": 40}}`+"\n",
				now.Add(time.Duration(n-10_000)*50*time.Millisecond).Format(time.RFC3339Nano), 26+float64(n%7)/10)
		}
		if code, answer := r.send(b.String()); code != http.StatusAccepted {
			t.Fatalf("%d %s", code, answer)
		}
	}
	r.until(r.clock.Now().Add(debounce))
	if got := r.metric("readings_total") - readings; got != 10_000 {
		t.Errorf("%v readings kept", got)
	}
	if made := r.metric("plans_total") - plans; made > 1 {
		t.Errorf("%v plans of them", made)
	}
}

// TestTooManyPosts: beyond what may be under way a post is turned away at once, with
// when to come again, and what was under way is taken in.
func TestTooManyPosts(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	intake, err := r.svc.Intake()
	if err != nil {
		t.Fatal(err)
	}
	token, err := os.ReadFile(filepath.Join(r.state, TokenFile))
	if err != nil {
		t.Fatal(err)
	}
	post := func(body io.Reader) *httptest.ResponseRecorder {
		request := httptest.NewRequest(http.MethodPost, "/v1/readings", body)
		request.Header.Set("Authorization", "Bearer "+strings.TrimSpace(string(token)))
		answer := httptest.NewRecorder()
		intake.ServeHTTP(answer, request)
		return answer
	}
	var slow sync.WaitGroup
	var bodies []*io.PipeWriter
	codes := make([]int, postsAtOnce)
	for i := range postsAtOnce {
		body, in := io.Pipe()
		bodies = append(bodies, in)
		slow.Go(func() { codes[i] = post(body).Code })
		fmt.Fprintf(in, `{"source": "air", "sequence": "%d", `, i) // read: its place is taken
	}
	answer := post(strings.NewReader(`{"source": "air", "values": {"air": 20}}`))
	if answer.Code != http.StatusServiceUnavailable || answer.Header().Get("Retry-After") == "" || !strings.Contains(answer.Body.String(), "send it again") {
		t.Errorf("%d %v %s", answer.Code, answer.Header(), answer.Body)
	}
	if n := r.metric("posts_turned_away_total"); n != 1 {
		t.Errorf("%v counted", n)
	}
	for _, in := range bodies {
		fmt.Fprint(in, `"values": {"air": 20}}`)
		in.Close()
	}
	slow.Wait()
	for i, code := range codes {
		if code != http.StatusAccepted {
			t.Errorf("post %d: %d", i, code)
		}
	}
	if answer := post(strings.NewReader(`{"source": "air", "values": {"air": 20.5}}`)); answer.Code != http.StatusAccepted {
		t.Errorf("afterwards: %d %s", answer.Code, answer.Body)
	}
}

// TestTooLong: ten megabytes at once are refused, by HTTP with 413 and by MQTT by
// hanging up, and what came before and after is there.
func TestTooLong(t *testing.T) {
	t.Parallel()
	r := newRig(t, strings.Replace(yardText, "    every: 10 min\n", "    topic: yard/air\n", 1))
	r.start()
	long := strings.Repeat("x", 10<<20)
	publish := func(body string) bool {
		client := mqtt.NewClient(mqtt.NewClientOptions().AddBroker("tcp://" + r.svc.MQTTAddr()).SetClientID("air").
			SetProtocolVersion(4).SetAutoReconnect(false))
		if token := client.Connect(); !token.WaitTimeout(hangs) || token.Error() != nil {
			t.Fatal("no connection: ", token.Error())
		}
		defer client.Disconnect(0)
		token := client.Publish("yard/air", 1, false, body)
		select {
		case <-token.Done():
			return token.Error() == nil && client.IsConnectionOpen()
		case <-time.After(hangs):
			t.Fatal("no answer")
			return false
		}
	}
	if !publish(`{"air": 20.1}`) {
		t.Error("the first message was not taken")
	}
	if publish(long) {
		t.Error("ten megabytes were taken as a message")
	}
	if !publish(`{"air": 20.2}`) {
		t.Error("the message after it was not taken")
	}
	for _, c := range []struct {
		body string
		code int
	}{
		{`{"source": "air", "values": {"air": 20.3}}`, http.StatusAccepted},
		{`{"source": "air", "values": {"air": "` + long + `"}}`, http.StatusRequestEntityTooLarge},
		{`{"source": "air", "values": {"air": 20.4}}`, http.StatusAccepted},
	} {
		if code, answer := r.send(c.body); code != c.code {
			t.Errorf("%.50s: %d %s, want %d", c.body, code, answer, c.code)
		}
	}
	r.settle()
	if all := r.kept(t); len(all) != 4 {
		t.Errorf("%d readings are kept, want four", len(all))
	}
}
