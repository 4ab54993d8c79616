package config

import (
	"fmt"
	"net/url"
	"path"
	"strings"
	"time"
)

// way checks how a sensor's messages reach us: one way, and all that it needs.
func (c *checker) way(at string, s Sensor) {
	var ways []string
	for _, w := range []struct {
		key   string
		given bool
	}{{"topic", s.Topic != ""}, {"subject", s.Subject != ""}, {"file", s.File != ""}, {"modbus", s.Modbus != nil}} {
		if w.given {
			ways = append(ways, w.key)
		}
	}
	if len(ways) > 1 {
		c.fault(at+"."+ways[1], fmt.Sprintf("a sensor has one way in, and this one has %s", strings.Join(ways, " and ")), "write one of them")
	}
	if bad := badSubject(s.Subject); bad != "" {
		c.fault(at+".subject", fmt.Sprintf("subject %q %s", s.Subject, bad), "write it like yard.booth-1.air")
	}
	c.modbus(at, s)
	if _, err := path.Match(s.File, ""); err != nil {
		c.fault(at+".file", fmt.Sprintf("%q is no pattern of file names", s.File), "write it like drop/*.csv")
	} else if strings.ContainsAny(path.Dir(s.File), "*?[") {
		c.fault(at+".file", fmt.Sprintf("%q has a wildcard in the folder", s.File), "write it in the last part only, like drop/*.csv")
	}
	if s.Broker != "" {
		c.refers(at+".broker", "broker", s.Broker, names(c.y.Brokers, brokerName))
		if s.Topic == "" {
			c.fault(at+".topic", "nobody knows which of the broker's messages are meant", "write topic: too")
		}
	}
}

// modbus checks an instrument's address and registers.
func (c *checker) modbus(at string, s Sensor) {
	if m := s.Modbus; m != nil {
		if u, err := url.Parse("//" + m.Address); err != nil || u.Port() == "" || u.Hostname() == "" || u.Host != m.Address {
			c.fault(at+".modbus.address", fmt.Sprintf("%q is no instrument's address", m.Address), "write host:port, like 192.168.1.20:502")
		}
		if u := m.UnitID(); u < 0 || u > 255 {
			c.fault(at+".modbus.unit", fmt.Sprintf("%d is no unit", u), "write 0 to 255")
		}
		if m.Every != 0 && m.Every.Std() < time.Second {
			c.fault(at+".modbus.every", fmt.Sprintf("%s is too often", m.Every), "write 1 s at least")
		}
		if m.Every != 0 && s.Every != 0 {
			c.fault(at+".every", "how often it is asked is there twice", "write it under modbus: only")
		}
	}
	for v, f := range s.Values {
		at := fmt.Sprintf("%s.values.%s", at, v)
		switch {
		case s.Modbus == nil && f.Register != nil:
			c.fault(at+".register", "only an instrument with modbus: has registers", "write path: instead, or modbus: beside values:")
			continue
		case s.Modbus == nil:
			continue
		case f.Register == nil:
			c.fault(at, "nobody knows in which register this value stands", "write register: and its address, counted from 0")
		case *f.Register < 0 || *f.Register+f.Registers() > 65536:
			c.fault(at+".register", fmt.Sprintf("%d is no register", *f.Register), "write 0 to 65535, counted from 0: what some papers call 40001 is holding register 0")
		}
		if f.Path != "" {
			c.fault(at+".path", "a register has no path", "leave it out")
		}
		c.oneOf(at+".kind", f.Kind, HoldingRegister, InputRegister)
		c.oneOf(at+".type", f.Type, Int16, Uint16, Int32, Uint32, Float32)
		c.oneOf(at+".words", f.Words, HighFirst, LowFirst)
		c.oneOf(at+".bytes", f.Bytes, HighFirst, LowFirst)
		if f.Words != "" && f.Registers() == 1 {
			c.fault(at+".words", "one register has no order of words", "leave it out, or write a type of two: int32, uint32 or float32")
		}
	}
}

// badSubject says what the bus would not carry, or not to us.
func badSubject(subject string) string {
	switch {
	case subject == "":
		return ""
	case strings.ContainsAny(subject, "*>"):
		return "has a wildcard in it"
	case strings.ContainsFunc(subject, func(r rune) bool { return r <= ' ' || r == 0x7f }):
		return "has a space in it"
	case strings.HasPrefix(subject, ".") || strings.HasSuffix(subject, ".") || strings.Contains(subject, ".."):
		return "has an empty part"
	case strings.HasPrefix(subject, "$"), strings.HasPrefix(subject, "_INBOX."):
		return "is the bus's own"
	case strings.HasPrefix(subject, "fairwindow."):
		return "is this program's own"
	}
	return ""
}

func brokerName(b Broker) string { return b.Name }

func (c *checker) brokers() {
	named(c, "brokers", "name", "broker", c.y.Brokers, brokerName)
	named := map[string]bool{}
	for _, s := range c.y.Sensors {
		named[s.Broker] = true
	}
	clients := map[string]int{}
	for i, b := range c.y.Brokers {
		at := fmt.Sprintf("brokers[%d]", i)
		c.link(at+".url", b.URL, "mqtt", "mqtts")
		if b.Password != "" && b.User == "" {
			c.fault(at+".user", "a password goes with a user", "write user: too")
		}
		u, err := url.Parse(b.URL)
		plain := err == nil && u.Scheme == "mqtt"
		if plain && b.CA != "" {
			c.fault(at+".ca", "without TLS there is no certificate to check", "write mqtts:// in url:, or leave ca: out")
		}
		if plain && b.Password != "" && !here(u.Hostname()) {
			c.warn(at+".url", "the password goes over the network in the clear", "use mqtts:// if the broker has it")
		}
		if strings.ContainsAny(b.Client, " \t\n+#/") {
			c.fault(at+".client", fmt.Sprintf("%q is no name for a client", b.Client), "write letters, digits and dashes, like yard-north")
		}
		if j, twice := clients[b.URL+" "+b.Client]; twice && b.Client != "" {
			c.fault(at+".client", fmt.Sprintf("number %d goes to the same broker by the same name, and a broker cuts off one of two", j+1), "leave client: out of one of them")
		}
		clients[b.URL+" "+b.Client] = i
		if b.Name != "" && !named[b.Name] {
			c.warn(at+".name", fmt.Sprintf("no sensor comes from broker %q", b.Name), "write broker: beside a sensor's topic:, or leave it out")
		}
	}
}
