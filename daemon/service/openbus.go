package service

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"fairwindow/notify/bus"
)

// openBus starts the built-in server, or connects to the one that the yard file names.
func (s *Service) openBus(ctx context.Context) error {
	b := s.opt.Yard.Bus
	user, password, err := s.mqttLogin()
	if err != nil {
		return err
	}
	s.bus, err = bus.Open(ctx, bus.Options{
		StoreDir: filepath.Join(s.opt.State, "bus"), ServerName: "fairwindow", Yard: s.opt.Yard.Name,
		External: b.URL, Leaf: b.Leaf, Domain: b.Domain, Credentials: s.within(b.Credentials), Replicas: b.Replicas,
		CA: s.within(b.CA), Certificate: s.within(b.Certificate), Key: s.within(b.Key),
		NATSAddr: b.Listen, MQTTAddr: b.MQTT, MQTTUser: user, MQTTPassword: password,
		MQTTCertificate: s.within(b.MQTTTLS.Certificate), MQTTKey: s.within(b.MQTTTLS.Key),
		Log: s.log.WithField("part", "bus"),
	})
	return err
}

// mqttLogin is what sensors must give: one line user:password in a file of its own, or nothing.
func (s *Service) mqttLogin() (user, password string, err error) {
	path := s.within(s.opt.Yard.Bus.MQTTLogin)
	if path == "" {
		return "", "", nil
	}
	login, err := secretIn(path)
	if err != nil {
		return "", "", fmt.Errorf("bus.mqtt_login: %w", err)
	}
	user, password, ok := strings.Cut(login, ":")
	if !ok || user == "" || password == "" || strings.ContainsAny(password, "\r\n") {
		return "", "", fmt.Errorf("the file %s is no login: write one line, user:password", path)
	}
	return user, password, nil
}
