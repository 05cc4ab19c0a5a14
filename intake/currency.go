package intake

import (
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"holdfast/money"
)

// signs maps written currencies to their codes. Several codes separated by
// bars mean that the sign alone does not say which.
var signs = map[string]string{
	"€": "EUR", "euro": "EUR", "euros": "EUR", "£": "GBP", "zł": "PLN", "zl": "PLN", "rmb": "CNY", "元": "CNY", "人民币": "CNY",
	"円": "JPY", "日元": "JPY", "yen": "JPY", "¥": "JPY|CNY", "￥": "JPY|CNY", "us$": "USD", "usd$": "USD", "$us": "USD", "美元": "USD",
	"nt$": "TWD", "ntd": "TWD", "hk$": "HKD", "s$": "SGD", "a$": "AUD", "au$": "AUD", "c$": "CAD", "ca$": "CAD", "nz$": "NZD", "r$": "BRL",
	"$":  "USD|AUD|CAD|SGD|HKD|NZD|TWD|MXN|CLP|COP|ARS",
	"kr": "SEK|NOK|DKK", "kr.": "SEK|NOK|DKK", "rp": "IDR", "rp.": "IDR", "฿": "THB", "₫": "VND", "₩": "KRW", "₹": "INR", "₱": "PHP",
	"kč": "CZK", "sfr": "CHF", "sfr.": "CHF", "₺": "TRY", "₴": "UAH",
}

// words that are also codes of ISO 4217; only taken as currencies where a
// currency must stand.
var codeLikeWords = []string{"ALL", "TOP", "TRY", "CUP", "PEN", "GEL", "MAD", "COP", "LAK", "BAM", "MOP", "SOS"}

// everyday are the codes that are recognised in lower case too.
var everyday = []string{"EUR", "USD", "GBP", "JPY", "CNY", "PLN", "CHF", "IDR", "TWD", "SEK", "NOK", "DKK", "CZK", "HUF", "THB", "SGD", "AUD", "CAD", "HKD", "VND"}

// currencyToken reads one word as a currency: a code, several codes with bars
// between them, or "".
func currencyToken(t string) string {
	if code := signs[strings.ToLower(t)]; code != "" {
		return code
	}
	up := strings.ToUpper(t)
	if _, ok := money.Exponent(up); ok && (t == up && !slices.Contains(codeLikeWords, up) || slices.Contains(everyday, up)) {
		return up
	}
	return ""
}

// currencyIn finds a currency in a text such as "Price (USD)" or "€/pc". It
// returns "" when there is none or two that contradict each other.
func currencyIn(s string) string {
	found := ""
	for _, t := range currencyWords(s) {
		switch code := currencyToken(t); {
		case code == "" || code == found:
		case found == "":
			found = code
		case allows(found, code):
			found = code
		case !allows(code, found):
			return ""
		}
	}
	return found
}

// currencyWords cuts a text into words of letters and signs: "US$/pc" gives
// "US$" and "pc", "$12" gives "$".
func currencyWords(s string) []string {
	return strings.FieldsFunc(norm.NFC.String(s), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.Is(unicode.Sc, r)
	})
}

// allows says whether what was read, perhaps several codes, can mean code.
func allows(read, code string) bool {
	return slices.Contains(strings.Split(read, "|"), code)
}

// ambiguous says whether a sign stands for several currencies.
func ambiguous(read string) bool { return strings.Contains(read, "|") }

// exactCurrency reads the content of a currency column.
func exactCurrency(s string) string {
	s = strings.TrimSpace(s)
	if code := signs[strings.ToLower(s)]; code != "" {
		return code
	}
	if _, ok := money.Exponent(strings.ToUpper(s)); ok {
		return strings.ToUpper(s)
	}
	return ""
}
