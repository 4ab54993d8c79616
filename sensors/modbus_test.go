package sensors

import (
	"errors"
	"fmt"
	"io"
	"log"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"
	"github.com/simonvetter/modbus"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// instrument is the register image of a real Modbus TCP server.
type instrument struct {
	mu      sync.Mutex
	input   map[uint8]map[uint16]uint16 // by unit and address
	holding map[uint8]map[uint16]uint16
	asked   []uint8 // units, in order
	hangs   map[uint8]chan struct{}
}

func (i *instrument) answer(image map[uint8]map[uint16]uint16, unit uint8, from, n uint16) ([]uint16, error) {
	i.mu.Lock()
	i.asked = append(i.asked, unit)
	hang := i.hangs[unit]
	registers, known := image[unit]
	i.mu.Unlock()
	if hang != nil {
		<-hang
	}
	if !known {
		return nil, modbus.ErrGWTargetFailedToRespond
	}
	var out []uint16
	for a := from; a < from+n; a++ {
		x, ok := registers[a]
		if !ok {
			return nil, modbus.ErrIllegalDataAddress
		}
		out = append(out, x)
	}
	return out, nil
}

func (i *instrument) HandleCoils(*modbus.CoilsRequest) ([]bool, error) {
	return nil, modbus.ErrIllegalFunction
}

func (i *instrument) HandleDiscreteInputs(*modbus.DiscreteInputsRequest) ([]bool, error) {
	return nil, modbus.ErrIllegalFunction
}

func (i *instrument) HandleHoldingRegisters(r *modbus.HoldingRegistersRequest) ([]uint16, error) {
	return i.answer(i.holding, r.UnitId, r.Addr, r.Quantity)
}

func (i *instrument) HandleInputRegisters(r *modbus.InputRegistersRequest) ([]uint16, error) {
	return i.answer(i.input, r.UnitId, r.Addr, r.Quantity)
}

// serve starts the server on an address.
func (i *instrument) serve(t *testing.T, addr string) (string, *modbus.ModbusServer) {
	t.Helper()
	srv, err := modbus.NewServer(&modbus.ServerConfiguration{
		URL: "tcp://" + addr, MaxClients: 5, Timeout: time.Minute, Logger: log.New(io.Discard, "", 0),
	}, i)
	if err == nil {
		err = srv.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { srv.Stop() })
	return addr, srv
}

func at(register int) *int { return &register }

// TestRegisters: what a register image says. The floats are published worked
// examples of IEEE 754 binary32: 0.15625 is 0 01111100 0100… = 3E200000, −118.625
// is 1 10000101 110110101… = C2ED4000 (from memory, both stand in encyclopedias);
// negative integers are two's complement.
func TestRegisters(t *testing.T) {
	tests := []struct {
		field config.Field
		image []uint16
		want  string
	}{
		{config.Field{Type: config.Float32}, []uint16{0x3E20, 0x0000}, "0.15625"},
		{config.Field{Type: config.Float32}, []uint16{0xC2ED, 0x4000}, "-118.625"},
		{config.Field{Type: config.Float32, Words: config.LowFirst}, []uint16{0x4000, 0xC2ED}, "-118.625"},
		{config.Field{Type: config.Float32, Bytes: config.LowFirst}, []uint16{0xEDC2, 0x0040}, "-118.625"},
		{config.Field{Type: config.Float32, Words: config.LowFirst, Bytes: config.LowFirst}, []uint16{0x0040, 0xEDC2}, "-118.625"},
		{config.Field{Type: config.Float32}, []uint16{0x7FC0, 0x0000}, `"nan"`}, // quiet NaN
		{config.Field{Type: config.Float32}, []uint16{0xFF80, 0x0000}, `"nan"`}, // −infinity
		{config.Field{}, []uint16{0xFFFB}, "-5"},
		{config.Field{Type: config.Int16}, []uint16{0x8000}, "-32768"},
		{config.Field{Type: config.Uint16}, []uint16{0xFFFB}, "65531"},
		{config.Field{Type: config.Uint16, Bytes: config.LowFirst}, []uint16{0x0201}, "258"},
		{config.Field{Type: config.Int32}, []uint16{0xFFFF, 0xFFFE}, "-2"},
		{config.Field{Type: config.Uint32}, []uint16{0x0001, 0x0000}, "65536"},
		{config.Field{Type: config.Uint32, Words: config.LowFirst}, []uint16{0x0001, 0x0000}, "1"},
		{config.Field{Type: config.Uint32}, []uint16{0x0001}, ""},
	}
	for _, tt := range tests {
		if got := number(tt.field, tt.image); got != tt.want {
			t.Errorf("%04X as %+v: got %s, want %s", tt.image, tt.field, got, tt.want)
		}
	}
}

func TestRuns(t *testing.T) {
	s := config.Sensor{Values: map[conditions.Variable]config.Field{
		"air": {Register: at(1), Type: config.Float32}, "humidity": {Register: at(3)}, "dew_point": {Register: at(5)},
		"surface": {Register: at(4), Kind: config.InputRegister}, "wind": {Register: at(127)},
	}}
	var got []string
	for _, r := range runs(s) {
		for _, v := range r.values {
			got = append(got, string(v))
		}
		got = append(got, "|")
	}
	if want := "air humidity | dew_point | wind | surface |"; strings.Join(got, " ") != want {
		t.Errorf("got %s, want %s", strings.Join(got, " "), want)
	}
}

// What one request may read is 125 registers (Modbus application protocol V1.1b3, 6.3 and 6.4);
// what lies within what is read already widens nothing.
func TestRunsAreNotTooLong(t *testing.T) {
	row := func(n int) config.Sensor {
		s := config.Sensor{Values: map[conditions.Variable]config.Field{}}
		for i := range n {
			s.Values[conditions.Variable(fmt.Sprintf("value %03d", i))] = config.Field{Register: at(i)}
		}
		return s
	}
	for n, want := range map[int][]int{125: {125}, 126: {125, 1}, 251: {125, 125, 1}} {
		var got []int
		for _, r := range runs(row(n)) {
			got = append(got, r.quantity)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%d registers in requests of %v, want %v", n, got, want)
		}
	}
	within := config.Sensor{Values: map[conditions.Variable]config.Field{"air": {Register: at(0), Type: config.Float32}, "humidity": {Register: at(0)}}}
	if got := runs(within); len(got) != 1 || got[0].quantity != 2 {
		t.Errorf("%+v, want one request for two registers", got)
	}
}

type asking struct {
	*Modbus
	kept  kept
	clock *clockwork.FakeClock
}

func newAsking(t *testing.T, addr string, units ...int) *asking {
	t.Helper()
	a := &asking{clock: clockwork.NewFakeClockAt(noon)}
	var all []config.Sensor
	for _, u := range units {
		all = append(all, config.Sensor{
			Name: "unit " + string(rune('0'+u)), Every: unit.Duration(10 * time.Second), Modbus: &config.Modbus{Address: addr, Unit: at(u)},
			Values: map[conditions.Variable]config.Field{
				"air": {Register: at(0), Scale: 0.1}, "humidity": {Register: at(1), Type: config.Float32}, "surface": {Register: at(7), Kind: config.InputRegister},
			},
		})
	}
	var err error
	a.Modbus, err = NewModbus(Gateway{
		Address: addr, Sensors: append(all, config.Sensor{
			Name: "else", Modbus: &config.Modbus{Address: "other:502", Unit: at(1)}, Values: map[conditions.Variable]config.Field{"air": {Register: at(0)}},
		}), Zone: time.UTC,
		Decode: verbatim, Intake: a.kept.take, Clock: a.clock, Timeout: time.Minute,
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(a.hangUp)
	return a
}

// round plays one round and gives what came in and what was said.
func (a *asking) round(t *testing.T) (string, string) {
	t.Helper()
	a.kept.readings = nil
	asked, err := a.Round(t.Context())
	said := ""
	if err != nil {
		said = err.Error()
	}
	if !asked {
		said = "not asked"
	}
	return raws(a.kept.readings), said
}

// TestModbus asks a real server with two instruments, one of which falls away,
// hangs and comes back, then the whole gateway does.
func TestModbus(t *testing.T) {
	t.Parallel()
	image := map[uint16]uint16{0: 215, 1: 0x4274, 2: 0} // 61.0: 0 10000100 111101 00…
	i := &instrument{
		holding: map[uint8]map[uint16]uint16{1: image, 2: image}, input: map[uint8]map[uint16]uint16{1: {7: 18}, 2: {7: 17}},
		hangs: map[uint8]chan struct{}{},
	}
	addr, srv := i.serve(t, vacant(t))
	a := newAsking(t, addr, 1, 2)
	one, two := `unit 1 {"air":215,"humidity":61,"surface":18}`, `unit 2 {"air":215,"humidity":61,"surface":17}`
	step := func(name, want, wantSaid string) {
		t.Helper()
		got, said := a.round(t)
		if got != want || wantSaid == "" && said != "" || !strings.Contains(said, wantSaid) {
			t.Errorf("%s: got %s and %q, want %s and %q", name, got, said, want, wantSaid)
		}
	}
	step("both answer", one+"\n"+two, "")
	if !slices.Equal(i.asked, []uint8{1, 1, 2, 2}) {
		t.Errorf("asked %v: one after the other, each in two requests", i.asked)
	}
	step("not their turn yet", "", "not asked")
	a.clock.Advance(10 * time.Second)
	i.mu.Lock()
	delete(i.input, 1)
	delete(i.holding, 2)
	delete(i.input, 2)
	i.mu.Unlock()
	step("one is half there, one gone", `unit 1 {"air":215,"humidity":61,"surface":null}`, "unit 2: unit 2, holding registers 0 to 2: gateway target device failed to respond; look at unit:, and at the instrument's power and wires; unit 2, input register 7: gateway")
	a.clock.Advance(10 * time.Second)
	hang := make(chan struct{})
	i.mu.Lock()
	i.input[1], i.input[2], i.holding[2] = map[uint16]uint16{7: 18}, map[uint16]uint16{7: 17}, image
	i.hangs[1] = hang
	i.mu.Unlock()
	// A busy machine may be too slow for a short patience with the other one too: then it is
	// asked once more. What it says is never taken for the first one's.
	a.hangUp()
	a.options.Timeout = 200 * time.Millisecond
	for got, said := "", ""; got != two || !strings.Contains(said, "unit 1: unit 1, holding registers 0 to 2: request timed out"); a.clock.Advance(10 * time.Second) {
		if got, said = a.round(t); got != "" && got != two || said == "" {
			t.Fatalf("one hangs, the other is asked all the same: got %s and %q", got, said)
		}
	}
	a.hangUp()
	a.options.Timeout = time.Minute
	i.mu.Lock()
	delete(i.hangs, 1)
	i.mu.Unlock()
	close(hang)
	a.clock.Advance(10 * time.Second)
	a.kept.full = errors.New("disk full")
	step("nowhere to put it", "", "disk full")
	a.kept.full = nil
	a.clock.Advance(10 * time.Second)
	step("it was kept at hand", one+"\n"+two+"\n"+one+"\n"+two, "")

	if err := srv.Stop(); err != nil {
		t.Fatal(err)
	}
	a.clock.Advance(10 * time.Second)
	a.round(t) // whatever the broken connection says
	a.clock.Advance(10 * time.Second)
	if got, said := a.round(t); got != "" || strings.Count(said, "no connection to "+addr) != 1 {
		t.Errorf("the gateway is gone: got %s and %q, want it said once, not by each instrument behind it", got, said)
	}
	i.serve(t, addr)
	a.clock.Advance(10 * time.Second)
	step("and back", one+"\n"+two, "")
}

// An address is asked once a second at most, whatever a sensor wants.
func TestModbusAsksNoFasterThanEachSecond(t *testing.T) {
	image := map[uint16]uint16{0: 215, 1: 0x4274, 2: 0}
	i := &instrument{holding: map[uint8]map[uint16]uint16{1: image}, input: map[uint8]map[uint16]uint16{1: {7: 18}}}
	addr, _ := i.serve(t, vacant(t))
	a := newAsking(t, addr, 1)
	a.options.Sensors[0].Every = 0
	for n, want := range []bool{true, false, true} {
		if asked, _ := a.Round(t.Context()); asked != want {
			t.Errorf("after %d ms: asked %v, want %v", n*500, asked, want)
		}
		a.clock.Advance(500 * time.Millisecond)
	}
}

// A fault stands until its own sensor answers: the turns of others behind one address do not
// call it mended, nor it theirs.
func TestModbusFaultsStand(t *testing.T) {
	image := map[uint16]uint16{0: 215, 1: 0x4274, 2: 0}
	i := &instrument{holding: map[uint8]map[uint16]uint16{1: image}, input: map[uint8]map[uint16]uint16{1: {7: 18}}}
	addr, _ := i.serve(t, vacant(t))
	a := newAsking(t, addr, 1, 2)
	a.options.Sensors[1].Every = unit.Duration(time.Minute)
	for n := range 6 {
		asked, err := a.Round(t.Context())
		if !asked || err == nil || !strings.Contains(err.Error(), "unit 2: unit 2, holding") || strings.Contains(err.Error(), "unit 1") {
			t.Fatalf("round %d: asked %v, %v", n+1, asked, err)
		}
		a.clock.Advance(10 * time.Second)
	}
	i.mu.Lock()
	i.holding[2], i.input[2] = image, i.input[1]
	i.mu.Unlock()
	if _, err := a.Round(t.Context()); err != nil {
		t.Errorf("it answers again: %v", err)
	}
}

// FuzzRegisters: whatever stands in registers becomes a number that JSON takes, or "nan".
func FuzzRegisters(f *testing.F) {
	f.Add(uint16(0xC2ED), uint16(0x4000), "float32", true, false)
	f.Add(uint16(0x7F80), uint16(1), "float32", false, true)
	f.Add(uint16(0xFFFF), uint16(0), "", false, false)
	f.Fuzz(func(t *testing.T, a, b uint16, kind string, words, bytes bool) {
		field := config.Field{Type: kind}
		if words {
			field.Words = config.LowFirst
		}
		if bytes {
			field.Bytes = config.LowFirst
		}
		text := number(field, []uint16{a, b})
		if text == `"nan"` {
			return
		}
		if x, err := rawValue("air", []byte(text)); err != nil || x == nil {
			t.Fatalf("%s: %v", text, err)
		}
	})
}

// A refusal says where to look, by what it refuses: MODBUS Application Protocol 1.1b3, section 7,
// from memory.
func TestModbusRefusalsSayWhereToLook(t *testing.T) {
	for err, want := range map[error]string{
		modbus.ErrIllegalDataAddress:      "they count from 0",
		modbus.ErrIllegalFunction:         "try the other kind:",
		modbus.ErrGWPathUnavailable:       "look at unit:",
		modbus.ErrGWTargetFailedToRespond: "look at unit:",
		modbus.ErrRequestTimedOut:         "look at unit:",
		modbus.ErrServerDeviceBusy:        "",
		modbus.ErrMemoryParityError:       "",
	} {
		if got := mendedBy(err); !strings.Contains(got, want) || want == "" && got != "" {
			t.Errorf("%v: %q, want %q", err, got, want)
		}
	}
}
