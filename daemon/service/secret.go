package service

import (
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"os"
	"strings"
)

// secret reads a password or the like that the yard file names by its file; "" without one.
func (s *Service) secret(name string) (string, error) {
	if name == "" {
		return "", nil
	}
	word, err := secretIn(s.within(name))
	if err == nil && word == "" {
		err = fmt.Errorf("its secret file %s is empty: put the secret in it, on one line", s.within(name))
	}
	return word, err
}

// secretIn is what stands in a file of its own, without the line's end; its spaces
// count, unless there is nothing else.
func secretIn(path string) (string, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return "", fmt.Errorf("its secret file can't be read: %w", err)
	}
	word := strings.TrimRight(string(text), "\r\n")
	if strings.TrimSpace(word) == "" {
		return "", nil
	}
	return word, nil
}

// trusted is whose certificates are believed: those of a file, else the system's (nil).
func (s *Service) trusted(name string) (*tls.Config, error) {
	if name == "" {
		return nil, nil
	}
	text, err := os.ReadFile(s.within(name))
	if err != nil {
		return nil, fmt.Errorf("its certificates can't be read: %w", err)
	}
	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM(text) {
		return nil, fmt.Errorf("there is no certificate in %s: it should be a PEM file that begins with -----BEGIN CERTIFICATE-----", name)
	}
	return &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12}, nil
}
