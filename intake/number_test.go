package intake

import (
	"fmt"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestReadCount(t *testing.T) {
	for _, c := range []struct {
		text, decimal string
		want          int // -1 for a problem
	}{
		{"200", "", 200}, {" 200 ", "", 200}, {"1,200", "", 1200}, {"1.200", "", 1200}, {"1 200", "", 1200}, {"1'200", "", 1200}, {"1\u00a0200", "", 1200},
		{"1.200", ",", 1200}, {"1.200", ".", -1}, {"1,200", ",", -1}, {"12,5", "", -1}, {"200.0", "", 200}, {"200,00", "", 200}, {"1.200,00", "", 1200},
		{"200 pcs", "", 200}, {"200pcs.", "", 200}, {"200 Stück", "", 200}, {"200匹", "", 200}, {"300尾", "", 300}, {"x 20", "", 20}, {"120 ekor", "", 120}, {"１２０", "", 120},
		{"+20", "", 20}, {"0", "", 0}, {"1000000", "", 1000000}, {"1,000,000", "", 1000000},
		{"1000001", "", -1}, {"20 bags", "", -1}, {"20 kg", "", -1}, {"twenty", "", -1}, {"", "", -1}, {"-5", "", -1}, {"(5)", "", -1}, {"5-", "", -1}, {"12.5", "", -1},
		{"1e3", "", -1}, {"1E+03", "", -1}, {"NaN", "", -1}, {"inf", "", -1}, {"=A1", "", -1}, {"20+2", "", -1}, {"20 x 10", "", -1}, {"~200", "", -1}, {"200?", "", -1}, {"5%", "", -1},
		{"1,20", "", -1}, {"12,34,567", "", -1}, {"1.2.3", "", -1}, {"€5", "", -1}, {"2 dozen", "", -1}, {"١٢", "", -1}, {strings.Repeat("9", 50), "", -1}, {"20 30", "", -1}, {"0x10", "", -1},
	} {
		n, problem := readCount(Cell{Text: strings.TrimSpace(c.text), Kind: Text}, c.decimal)
		if got := map[bool]int{true: n, false: -1}[problem == ""]; got != c.want {
			t.Errorf("count %q with mark %q is %d (%s), want %d", c.text, c.decimal, n, problem, c.want)
		}
	}
}

func TestReadMoney(t *testing.T) {
	for _, c := range []struct {
		text, decimal  string
		want, currency string // want "" for a problem
	}{
		{"0.45", "", "9/20", ""}, {"0,45", "", "9/20", ""}, {".5", "", "1/2", ""}, {",5", "", "1/2", ""}, {"1.234,56", "", "30864/25", ""}, {"1,234.56", "", "30864/25", ""}, {"12,-", "", "12/1", ""},
		{"1'234.50", "", "2469/2", ""}, {"1 234,5", "", "2469/2", ""}, {"1,23,456.5", "", "246913/2", ""}, {"1.234.567", "", "1234567/1", ""}, {"0.125", "", "1/8", ""}, {"0", "", "0/1", ""},
		{"1.234", ".", "617/500", ""}, {"1.234", ",", "1234/1", ""}, {"1,234", ",", "617/500", ""}, {"12.3456", "", "7716/625", ""},
		{"€ 0,45", "", "9/20", "EUR"}, {"0.45 EUR", "", "9/20", "EUR"}, {"USD 2", "", "2/1", "USD"}, {"US$2.50", "", "5/2", "USD"}, {"$2.50", "", "5/2", signs["$"]}, {"RMB 3", "", "3/1", "CNY"},
		{"¥300", "", "300/1", "JPY|CNY"}, {"300円", "", "300/1", "JPY"}, {"2.50 zł", "", "5/2", "PLN"}, {"Rp 1500", "", "1500/1", "IDR"}, {"0.45 €/pc", "", "9/20", "EUR"}, {"0.45 eur", "", "9/20", "EUR"},
		{"1.234", "", "", ""}, {"1,234", "", "", ""}, {"cheap", "", "", ""}, {"0.45 per bag", "", "", ""}, {"-1", "", "", ""}, {"(1.50)", "", "", ""}, {"€-1", "", "", ""}, {"NaN", "", "", ""}, {"1e5", "", "", ""},
		{"1.2.3", "", "", ""}, {"1,2,3", "", "", ""}, {"1.234,567,8", "", "", ""}, {"5%", "", "", ""}, {"5 kg", "", "", ""}, {"=1", "", "", ""}, {"0.45 EUR USD", "", "", ""}, {"12 34", "", "", ""},
	} {
		amount, currency, problem := readMoney(Cell{Text: c.text, Kind: Text}, c.decimal)
		got := ""
		if problem == "" {
			got = amount.String()
		}
		if got != c.want || problem == "" && currency != c.currency {
			t.Errorf("money %q with mark %q is %s %q (%s), want %s %q", c.text, c.decimal, got, currency, problem, c.want, c.currency)
		}
	}
}

// TestWrittenNumbers writes an amount in the ways of several countries and
// wants it read back once the mark is known.
func TestWrittenNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		whole := rapid.Int64Range(0, 999_999_999).Draw(t, "whole")
		part := rapid.IntRange(0, 999).Draw(t, "part")
		style := rapid.SampledFrom([]struct{ group, mark string }{{",", "."}, {".", ","}, {" ", ","}, {"'", "."}, {"", "."}, {"", ","}, {"\u202f", ","}}).Draw(t, "style")
		text := strings.ReplaceAll(group(int(whole)), ",", "\x00")
		text = strings.ReplaceAll(text, "\x00", style.group) + style.mark + fmt.Sprintf("%03d", part)
		amount, _, problem := readMoney(Cell{Text: text, Kind: Text}, style.mark)
		want := big.NewRat(whole*1000+int64(part), 1000)
		if problem != "" || amount.Cmp(want) != 0 {
			t.Fatalf("%q is %v (%s), want %v", text, amount, problem, want)
		}
	})
}

func TestDecimalMark(t *testing.T) {
	for _, c := range []struct {
		cells []string
		want  string
	}{
		{[]string{"0,45", "1.234"}, ","}, {[]string{"0.45", "1,234"}, "."}, {[]string{"1.234", "2"}, ""}, {[]string{"0.45", "0,45"}, ""},
		{[]string{"1.234.567"}, ","}, {[]string{"1,234,567"}, "."}, {[]string{"1.234,50"}, ","}, {[]string{"text", ""}, ""}, {nil, ""},
	} {
		var rows []Row
		for i, s := range c.cells {
			rows = append(rows, Row{Number: i + 1, Cells: []Cell{{Text: s, Kind: Text}}})
		}
		if got := decimalMark(rows, []int{0}); got != c.want {
			t.Errorf("mark of %q is %q, want %q", c.cells, got, c.want)
		}
	}
}

func TestCurrencyIn(t *testing.T) {
	for text, want := range map[string]string{
		"Price (USD)": "USD", "Preis €": "EUR", "US$/pc": "USD", "NT$ each": "TWD", "単価（円）": "JPY", "单价(元)": "CNY", "Price": "", "All pieces": "", "ALL pcs": "", "TOP grade": "",
		"EUR or USD": "", "$ USD": "USD", "$": signs["$"], "price eur": "EUR", "Cena zł": "PLN", "try": "",
	} {
		if got := currencyIn(text); got != want {
			t.Errorf("currency in %q is %q, want %q", text, got, want)
		}
	}
}
