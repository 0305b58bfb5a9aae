package web

import "swardbook/web/pass"

// HashPasscode returns the argon2id hash of a passcode as PHC text. A passcode that is too short or too long is an
// Invalid error with a sentence for the person.
func HashPasscode(passcode string) (string, error) { return pass.Hash(passcode) }
