package bus

import (
	"fmt"

	"github.com/nats-io/jwt/v2"
	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nkeys"
	"golang.org/x/crypto/bcrypt"
)

// access is who may do what on the built-in server. Its keys live as long as the process; nothing
// of them is written down.
type access struct {
	own   nkeys.KeyPair // this process, over its in-process connection
	ownID string
	users []*server.User
	keys  []*server.NkeyUser
	local string // key of programs on this machine, which give no credentials
	open  string // key of devices when no password is asked; empty: they need one
}

// newAccess makes keys. With no user, devices need no password.
//
// A device or a program here may publish readings and hear everything, but may not forge a
// notice, take device messages away from Intake or touch the streams. A program may also ask; the
// answers are this process's alone.
func newAccess(user, password, domain string) (access, error) {
	var a access
	own, ownID, err := key()
	if err != nil {
		return access{}, err
	}
	a.own, a.ownID = own, ownID
	a.keys = append(a.keys, &server.NkeyUser{Nkey: ownID, AllowedConnectionTypes: only(jwt.ConnectionTypeInProcess)})

	if _, a.local, err = key(); err != nil {
		return access{}, err
	}
	a.keys = append(a.keys, &server.NkeyUser{
		Nkey: a.local, AllowedConnectionTypes: only(jwt.ConnectionTypeStandard),
		Permissions: &server.Permissions{Publish: &server.SubjectPermission{Deny: forbidden(domain)},
			Subscribe: &server.SubjectPermission{Deny: []string{askSubject + ">", "$SRV.>"}}},
	})

	devices := &server.Permissions{Publish: &server.SubjectPermission{
		Deny: []string{"fairwindow.>", "$MQTT.>", "$SYS.>", "$JS.>", "_INBOX.>"},
	}}
	if user != "" {
		hash, err := bcrypt.GenerateFromPassword([]byte(password), bcrypt.MinCost) // kept in memory only
		if err != nil {
			return access{}, fmt.Errorf("bus: MQTT password: %w", err)
		}
		a.users = append(a.users, &server.User{
			Username: user, Password: string(hash), Permissions: devices, AllowedConnectionTypes: only(jwt.ConnectionTypeMqtt)})
		return a, nil
	}
	if _, a.open, err = key(); err != nil {
		return access{}, err
	}
	a.keys = append(a.keys, &server.NkeyUser{Nkey: a.open, Permissions: devices, AllowedConnectionTypes: only(jwt.ConnectionTypeMqtt)})
	return a, nil
}

// forbidden is what a program on this machine may not publish to. With a domain the streams are
// also asked under its name, and acknowledgements carry it.
func forbidden(domain string) []string {
	deny := []string{noticeSubject + ">", "$MQTT.>", "$SYS.>"}
	for _, stream := range []string{mqttStream, readingStream} {
		deny = append(deny, "$JS.ACK."+stream+".>", "$JS.ACK.*.*."+stream+".>")
	}
	prefixes := []string{"$JS.API."}
	if domain != "" {
		prefixes = append(prefixes, "$JS."+domain+".API.")
	}
	for _, prefix := range prefixes {
		for _, ask := range []string{
			"STREAM.CREATE.>", "STREAM.UPDATE.>", "STREAM.DELETE.>", "STREAM.PURGE.>", "STREAM.MSG.DELETE.>", "STREAM.RESTORE.>",
			"CONSUMER.*." + mqttStream + ".>", "CONSUMER.*.*." + mqttStream + ".>",
			"CONSUMER.*." + readingStream + ".>", "CONSUMER.*.*." + readingStream + ".>",
		} {
			deny = append(deny, prefix+ask)
		}
	}
	return deny
}

// key makes a user key and its public name.
func key() (nkeys.KeyPair, string, error) {
	pair, err := nkeys.CreateUser()
	if err != nil {
		return nil, "", fmt.Errorf("bus: make a key: %w", err)
	}
	public, err := pair.PublicKey()
	if err != nil {
		return nil, "", fmt.Errorf("bus: make a key: %w", err)
	}
	return pair, public, nil
}

func only(connectionType string) map[string]struct{} {
	return map[string]struct{}{connectionType: {}}
}
