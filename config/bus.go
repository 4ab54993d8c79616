package config

import (
	"fmt"
	"strings"
)

// Bus is where notices go: our own server when URL is empty. What names a file is looked for
// beside the yard file.
type Bus struct {
	URL         string `yaml:"url,omitempty" json:"url,omitempty"`                 // of your own servers, several with commas
	Credentials string `yaml:"credentials,omitempty" json:"credentials,omitempty"` // a file, for url or leaf
	CA          string `yaml:"ca,omitempty" json:"ca,omitempty"`                   // a PEM file: who signed your servers' certificates
	Certificate string `yaml:"certificate,omitempty" json:"certificate,omitempty"` // a PEM file: ours, if your servers ask for one
	Key         string `yaml:"key,omitempty" json:"key,omitempty"`                 // a PEM file: the key of certificate
	Replicas    int    `yaml:"replicas,omitempty" json:"replicas,omitempty"`       // servers of your cluster that keep each notice
	Leaf        string `yaml:"leaf,omitempty" json:"leaf,omitempty"`               // address of the head office's hub, several with commas
	Domain      string `yaml:"domain,omitempty" json:"domain,omitempty"`           // this yard's name at the hub
	Listen      string `yaml:"listen,omitempty" json:"listen,omitempty"`           // NATS address of our own server
	MQTT        string `yaml:"mqtt,omitempty" json:"mqtt,omitempty"`               // MQTT address of our own server
	MQTTLogin   string `yaml:"mqtt_login,omitempty" json:"mqtt_login,omitempty"`   // a file with user:password, which sensors must give
	MQTTTLS     TLS    `yaml:"tls,omitempty" json:"tls,omitempty"`                 // of our own server's MQTT port
	Token       string `yaml:"token_file,omitempty" json:"token_file,omitempty"`   // a file with the token for POST /v1/readings
}

// TLS is what a port of ours shows who connects.
type TLS struct {
	Certificate string `yaml:"certificate,omitempty" json:"certificate,omitempty"` // a PEM file
	Key         string `yaml:"key,omitempty" json:"key,omitempty"`                 // a PEM file
}

// bus checks what belongs together: our own server, or one run by others.
func (c *checker) bus() {
	b := c.y.Bus
	c.address("bus.listen", b.Listen)
	c.address("bus.mqtt", b.MQTT)
	own := b.URL == ""
	for _, one := range servers(b.URL) {
		c.link("bus.url", one, "nats", "tls", "ws", "wss")
	}
	for _, one := range servers(b.Leaf) {
		c.link("bus.leaf", one, "nats-leaf", "nats", "tls", "ws", "wss")
	}
	if !own {
		for _, p := range [][2]string{{"bus.listen", b.Listen}, {"bus.mqtt", b.MQTT}, {"bus.mqtt_login", b.MQTTLogin},
			{"bus.tls.certificate", b.MQTTTLS.Certificate}, {"bus.leaf", b.Leaf}} {
			if p[1] != "" {
				c.fault(p[0], "this is of the built-in server, which does not run beside bus.url", "leave out one of the two")
			}
		}
	}
	if own && b.Leaf == "" {
		for _, p := range [][2]string{{"bus.credentials", b.Credentials}, {"bus.ca", b.CA}, {"bus.certificate", b.Certificate}} {
			if p[1] != "" {
				c.fault(p[0], "the built-in server needs none: this is for a server run by others", "name that server as bus.url or bus.leaf, or leave this out")
			}
		}
	}
	c.together("bus.certificate", b.Certificate, "bus.key", b.Key)
	c.together("bus.tls.certificate", b.MQTTTLS.Certificate, "bus.tls.key", b.MQTTTLS.Key)
	c.together("bus.leaf", b.Leaf, "bus.domain", b.Domain)
	if strings.ContainsAny(b.Domain, ".*> \t") {
		c.fault("bus.domain", fmt.Sprintf("%q is no name of a yard at the hub", b.Domain), "write one word of letters, digits and hyphens")
	}
	switch n := b.Replicas; {
	case n != 0 && n != 1 && n != 3 && n != 5:
		c.fault("bus.replicas", fmt.Sprintf("%d servers can't keep a notice", n), "write 1, 3 or 5")
	case n > 1 && own:
		c.fault("bus.replicas", fmt.Sprintf("%d servers are wanted, and the built-in one is alone", n), "name your cluster as bus.url")
	}
}

// together faults one of two that go together when the other is missing.
func (c *checker) together(path, value, other, with string) {
	if value != "" && with == "" {
		c.fault(path, "this goes together with "+other, "write "+other+" as well")
	}
	if value == "" && with != "" {
		c.fault(other, "this goes together with "+path, "write "+path+" as well")
	}
}

// servers parts a list of addresses with commas.
func servers(text string) []string {
	if text == "" {
		return nil
	}
	all := strings.Split(text, ",")
	for i := range all {
		all[i] = strings.TrimSpace(all[i])
	}
	return all
}
