package service

import (
	"io"
	"log"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/simonvetter/modbus"
	"github.com/sirupsen/logrus"
	logtest "github.com/sirupsen/logrus/hooks/test"
)

// registers answers every holding register with its image.
type registers []uint16

func (registers) HandleCoils(*modbus.CoilsRequest) ([]bool, error) {
	return nil, modbus.ErrIllegalFunction
}

func (registers) HandleDiscreteInputs(*modbus.DiscreteInputsRequest) ([]bool, error) {
	return nil, modbus.ErrIllegalFunction
}

func (r registers) HandleHoldingRegisters(q *modbus.HoldingRegistersRequest) ([]uint16, error) {
	if int(q.Addr)+int(q.Quantity) > len(r) || q.UnitId != 3 {
		return nil, modbus.ErrIllegalDataAddress
	}
	return r[q.Addr : q.Addr+q.Quantity], nil
}

func (registers) HandleInputRegisters(*modbus.InputRegistersRequest) ([]uint16, error) {
	return nil, modbus.ErrIllegalFunction
}

// TestModbusInstrument: a transmitter on Modbus TCP is asked as often as the yard
// file says, its values come in scaled and in their unit, and one that does not
// answer is said.
func TestModbusInstrument(t *testing.T) {
	t.Parallel()
	addr := vacant(t).String()
	r := newRig(t, strings.Replace(yardText, "forecasts:\n", `  - name: transmitter
    place: booth
    modbus: {address: "`+addr+`", unit: 3, every: 10 s}
    values: {air: {register: 0, scale: 0.1, unit: F}, humidity: {register: 1, type: float32}}
forecasts:
`, 1))
	r.start()
	heard := new(logtest.Hook)
	r.svc.log.Logger.AddHook(heard)
	r.unwell("modbus "+addr, true)
	// 698 tenths of a °F are 21 °C; 42740000 is 61.0 in IEEE 754 binary32.
	srv, err := modbus.NewServer(&modbus.ServerConfiguration{
		URL: "tcp://" + addr, MaxClients: 2, Timeout: time.Minute, Logger: log.New(io.Discard, "", 0),
	}, registers{698, 0x4274, 0})
	if err == nil {
		err = srv.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	defer srv.Stop()
	tick := func() { r.until(r.clock.Now().Add(r.tick)) }
	tick()
	got := r.arrived("transmitter", 1, tick) // it may not yet have begun to wait for its turn
	x, ok := got[0].Good("air")
	y, also := got[0].Good("humidity")
	if !ok || !also || x < 20.999 || x > 21.001 || y != 61 || got[0].Place != "booth" {
		t.Errorf("got %+v", got[0])
	}
	r.unwell("modbus "+addr, false)
	if !slices.ContainsFunc(heard.AllEntries(), func(e *logrus.Entry) bool {
		return e.Data["source"] == "modbus "+addr && e.Message == "a source can be read again"
	}) {
		t.Error("the log does not say that it is back")
	}
}
