package disk

import "errors"

// Exchange lets two files change places, at once. Where the system or the file system cannot, the
// error is errors.ErrUnsupported.
func Exchange(a, b string) error {
	err := ask(OpExchange, b)
	if err == nil {
		err = exchange(a, b)
	}
	if err != nil && isUnsupported(err) {
		return errors.ErrUnsupported
	}
	return err
}
