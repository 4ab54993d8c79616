package service

import (
	"fairwindow/sensors"
	"fairwindow/sensors/payload"
)

// openModbus makes a line of each Modbus address. The instruments behind one are
// asked one after the other, since most gateways can't do more.
func (s *Service) openModbus() ([]line, error) {
	var lines []line
	known := map[string]bool{}
	for _, sensor := range s.facts.yard.Sensors {
		if sensor.Modbus == nil || known[sensor.Modbus.Address] {
			continue
		}
		address := sensor.Modbus.Address
		known[address] = true
		name := "modbus " + address
		gateway, err := sensors.NewModbus(sensors.Gateway{
			Address: address, Sensors: s.facts.yard.Sensors, Zone: s.facts.zone, Decode: payload.Decode,
			Intake: s.TakeReadings, Clock: s.clock, State: func(err error) { s.state(name, err) },
		})
		if err != nil {
			return nil, err
		}
		lines = append(lines, line{name, gateway.Run})
	}
	return lines, nil
}
