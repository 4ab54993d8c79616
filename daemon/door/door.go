// Package door answers one question: is this who he says he is? It makes and checks
// passwords and secret words, says which words are too easily guessed, which secret opens
// what to a machine, and how often may be knocked. It keeps nothing but how often.
//
// What was thought of, and what stands against it:
//
//   - The store or a backup is stolen. Passwords lie in it as argon2id (RFC 9106), sessions,
//     invitations and tokens as the SHA-256 of 130 random bits or more, so none can be used.
//   - Passwords are guessed. Attempts are counted by name and by address, each asked to wait
//     longer as they fail; nobody is shut out for good, and the wait is said. A person who is
//     named in the yard file and has no password, and one who is not named, cost the same
//     time and get the same answer as a wrong password. No more than two passwords are
//     worked on at once: each takes 19 MiB.
//   - A session is stolen. Its cookie can't be read by script, is not sent along with forms
//     of other sites, goes over TLS only once it came over TLS, and ends: after some idle
//     hours, a day, a new password, a lesser role, or when the person left the yard file.
//   - A link in a mail or a chat is opened by the program that previews it. Opening an
//     invitation uses nothing up; setting the password does, and only the first time.
//   - Another site sends a form in a person's name. Such forms are refused by where the
//     browser says that they come from; the cookie is not sent along either.
//   - Where nobody signs in, another site's name is made to lead to this machine, so that its
//     page passes for ours. Forms are then taken at this machine's own address only.
//   - A form is repeated to sign in as somebody else, or leads elsewhere after the sign-in.
//     Only paths of these pages are gone to, and what was typed is never sent by itself.
//   - A sensor's gateway is opened. Its token takes readings in and nothing else; the key
//     with which the command line invites people is another, in the state folder.
//   - A calendar's address is passed on. It opens calendars only, and can be revoked.
//   - Somebody reads the address of a screen on the wall. It opens boards only, and can be revoked.
//
// What does not stand here: who can read the state folder can act as anybody; without TLS
// in front of the pages a password can be read on its way; where nobody has a role, names
// are believed, and only this machine may reach the pages.
package door
