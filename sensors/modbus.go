package sensors

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log"
	"strings"
	"time"

	"github.com/jonboulle/clockwork"
	"github.com/simonvetter/modbus"

	"fairwindow/conditions"
	"fairwindow/config"
)

// Modbus asks the instruments behind one Modbus TCP address, one after the
// other, each as often as its sensor says. An instrument that does not answer
// gives no reading: its source falls silent.
type Modbus struct {
	options Gateway
	zones   map[string]*time.Location
	client  *modbus.ModbusClient // nil: not connected
	next    map[string]time.Time // when each sensor is asked again
	faults  map[string]error     // what was wrong with each sensor when it was last asked
	waiting []Reading            // what the intake has not taken yet
}

// Gateway is what a Modbus needs.
type Gateway struct {
	Address string          // host:port
	Sensors []config.Sensor // those of other addresses are ignored
	Zone    *time.Location
	Decode  Decode
	Intake  Intake
	Clock   clockwork.Clock
	Timeout time.Duration // of one request; default 2 s
	State   func(error)   // told after each round what did not answer; nil for all did
}

// NewModbus does not connect yet.
func NewModbus(g Gateway) (*Modbus, error) {
	if g.Timeout == 0 {
		g.Timeout = 2 * time.Second
	}
	m := &Modbus{options: g, next: map[string]time.Time{}, faults: map[string]error{}}
	m.options.Sensors = nil
	for _, s := range g.Sensors {
		if s.Modbus != nil && s.Modbus.Address == g.Address {
			m.options.Sensors = append(m.options.Sensors, s)
		}
	}
	var err error
	m.zones, err = zones(m.options.Sensors, g.Zone)
	return m, err
}

// Run asks until ctx ends.
func (m *Modbus) Run(ctx context.Context) error {
	defer m.hangUp()
	for ctx.Err() == nil {
		asked, err := m.Round(ctx)
		if asked && ctx.Err() == nil {
			m.options.State(err)
		}
		select {
		case <-ctx.Done():
		case <-m.options.Clock.After(m.wait()):
		}
	}
	return nil
}

// wait is how long until the next sensor's turn.
func (m *Modbus) wait() time.Duration {
	now := m.options.Clock.Now()
	least := time.Minute
	for _, s := range m.options.Sensors {
		least = min(least, m.next[s.Name].Sub(now))
	}
	return max(least, time.Millisecond)
}

// Round asks every sensor whose turn it is and takes in all they answered. The
// error names those that did not answer when they were last asked, be it in this round or
// before: sensors have turns of their own. One that fails does not stop the others.
func (m *Modbus) Round(ctx context.Context) (asked bool, err error) {
	var noLine error
	for _, s := range m.options.Sensors {
		now := m.options.Clock.Now()
		if ctx.Err() != nil {
			break
		}
		if now.Before(m.next[s.Name]) {
			continue
		}
		asked = true
		m.next[s.Name] = now.Add(max(s.Every.Std(), time.Second))
		if m.client == nil {
			if noLine = m.dial(); noLine != nil {
				break // nothing behind this address can be asked
			}
		}
		var readings []Reading
		readings, m.faults[s.Name] = m.ask(s)
		m.waiting = append(m.waiting, readings...)
	}
	faults := m.standing(noLine)
	for len(m.waiting) > 0 {
		n := min(len(m.waiting), batch)
		if err := m.options.Intake(ctx, m.waiting[:n:n]); err != nil {
			faults = append(faults, err)
			break // they are offered again after the next round
		}
		m.waiting = m.waiting[n:]
	}
	return asked, together(faults)
}

// standing are the faults that stand: without a line nothing else is known.
func (m *Modbus) standing(noLine error) []error {
	if noLine != nil {
		return []error{noLine}
	}
	var faults []error
	for _, s := range m.options.Sensors {
		if err := m.faults[s.Name]; err != nil {
			faults = append(faults, fmt.Errorf("%s: %w", s.Name, err))
		}
	}
	return faults
}

// together is one line of all that went wrong.
func together(faults []error) error {
	if len(faults) == 0 {
		return nil
	}
	words := make([]string, len(faults))
	for i, f := range faults {
		words[i] = f.Error()
	}
	return errors.New(strings.Join(words, "; "))
}

func (m *Modbus) dial() error {
	client, err := modbus.NewClient(&modbus.ClientConfiguration{
		URL: "tcp://" + m.options.Address, Timeout: m.options.Timeout, Logger: log.New(io.Discard, "", 0),
	})
	if err == nil {
		err = client.Open()
	}
	if err != nil {
		return fmt.Errorf("no connection to %s: %w", m.options.Address, err)
	}
	m.client = client
	return nil
}

func (m *Modbus) hangUp() {
	if m.client != nil {
		_ = m.client.Close() // it is given up
		m.client = nil
	}
}

// ask reads one sensor and hands what its registers hold to Decode, as a flat
// JSON object by variable. What could not be read is null; if nothing could,
// there is no reading.
func (m *Modbus) ask(s config.Sensor) ([]Reading, error) {
	got := map[conditions.Variable]json.RawMessage{}
	found := false
	var faults []error
	for _, r := range runs(s) {
		registers, err := m.read(s, r)
		if err != nil {
			faults = append(faults, err)
		}
		for _, v := range r.values {
			got[v] = json.RawMessage("null")
			f := s.Values[v]
			if at := *f.Register - r.from; err == nil {
				got[v] = json.RawMessage(number(f, registers[at:]))
				found = true
			}
		}
	}
	if !found {
		return nil, together(faults)
	}
	text, err := json.Marshal(got)
	if err != nil {
		return nil, err
	}
	// Decode finds each value by its variable; scale and unit are its own.
	byName := s
	byName.Values = map[conditions.Variable]config.Field{}
	for v, f := range s.Values {
		f.Path = string(v)
		byName.Values[v] = f
	}
	message := Message{Topic: s.Modbus.Address, Payload: text, Received: m.options.Clock.Now()}
	return m.options.Decode(byName, message, m.zones[s.Name]), together(faults)
}

// read makes one request. After anything but an answer, be it a refusal, the
// connection is given up: a late answer must not be taken for the next one's.
func (m *Modbus) read(s config.Sensor, r run) ([]uint16, error) {
	if m.client == nil {
		if err := m.dial(); err != nil {
			return nil, err
		}
	}
	kind := modbus.HOLDING_REGISTER
	if r.kind == config.InputRegister {
		kind = modbus.INPUT_REGISTER
	}
	err := m.client.SetUnitId(uint8(s.Modbus.UnitID()))
	var registers []uint16
	if err == nil {
		registers, err = m.client.ReadRegisters(uint16(r.from), uint16(r.quantity), kind)
	}
	if err == nil {
		return registers, nil
	}
	switch err {
	case modbus.ErrIllegalFunction, modbus.ErrIllegalDataAddress, modbus.ErrIllegalDataValue, modbus.ErrServerDeviceFailure,
		modbus.ErrServerDeviceBusy, modbus.ErrGWPathUnavailable, modbus.ErrGWTargetFailedToRespond:
	default:
		m.hangUp()
	}
	return nil, fmt.Errorf("unit %d, %s: %w%s", s.Modbus.UnitID(), r, err, mendedBy(err))
}

// mendedBy is where to look after a refusal; empty where the words say it.
func mendedBy(err error) string {
	switch err {
	case modbus.ErrIllegalDataAddress:
		return "; it has no such register: they count from 0, and kind: holding and kind: input are two lists"
	case modbus.ErrIllegalFunction:
		return "; it has no registers of that kind: try the other kind:"
	case modbus.ErrGWPathUnavailable, modbus.ErrGWTargetFailedToRespond, modbus.ErrRequestTimedOut:
		return "; look at unit:, and at the instrument's power and wires"
	}
	return ""
}
