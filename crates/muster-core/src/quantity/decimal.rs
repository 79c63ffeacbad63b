//! Decimal digits to the nearest binary number.
//!
//! The standard library's own reading brings a table of powers that would weigh 10 kB in a phone's download (measured,
//! brotli); figures written by people need 128-bit integers and one division.

/// Ten to this power is below 2^70: the quotient of a numerator of 128 bits keeps at least 58, an `f64` holds 53.
const MAX_DECIMALS: u32 = 21;

/// Reads `12`, `-0.5` or `2.5e-3` to the nearest number, of two equally near the even one, as IEEE 754 rounds.
///
/// None for anything else, and for more than 21 decimals or about 38 digits: nothing measured has them.
pub(crate) fn decimal(text: &str) -> Option<f64> {
    let unsigned = text.strip_prefix(['-', '+']).unwrap_or(text);
    let (figure, exponent) = unsigned.split_once(['e', 'E']).unwrap_or((unsigned, "0"));
    let (whole, fraction) = figure.split_once('.').unwrap_or((figure, ""));
    let exponent: i32 = exponent.parse().ok()?;
    let exponent = exponent.checked_sub(i32::try_from(fraction.len()).ok()?)?;
    let mut digits: u128 = 0;
    for digit in whole.bytes().chain(fraction.bytes()) {
        let digit = digit.checked_sub(b'0').filter(|digit| *digit < 10)?;
        digits = digits.checked_mul(10)?.checked_add(u128::from(digit))?;
    }
    let power = 10_u128.checked_pow(exponent.unsigned_abs())?;
    let value = match exponent {
        _ if whole.is_empty() => return None,
        0.. => digits.checked_mul(power)? as f64,
        _ if exponent.unsigned_abs() <= MAX_DECIMALS => quotient(digits, power),
        _ => return None,
    };
    Some(if text.starts_with('-') { -value } else { value })
}

/// Divides, rounding once: whatever lies below the quotient's last bit only has to show that it is there.
fn quotient(digits: u128, power: u128) -> f64 {
    let shift = digits.leading_zeros();
    let digits = digits.checked_shl(shift).unwrap_or(0);
    let quotient = digits / power;
    let inexact = u128::from(quotient * power != digits);
    libm::ldexp((quotient | inexact) as f64, -(shift as i32))
}

#[cfg(test)]
mod tests {
    use super::*;
    use alloc::format;
    use proptest::prelude::*;

    #[test]
    fn what_is_no_decimal_number_is_refused() {
        let long = "1".repeat(40);
        for wrong in
            ["", "-", ".5", ".", "1.2.3", "1,2", "+-1", "e5", "1e", "inf", "NaN", "0x10", "1_0", "1e-22", &long]
        {
            assert_eq!(decimal(wrong), None, "{wrong}");
        }
        assert_eq!(decimal("-0.0").map(f64::to_bits), Some((-0.0_f64).to_bits()));
    }

    // The reference is the standard library's reading, which rounds correctly (D. Lemire, "Number parsing at a gigabyte
    // per second", 2021).
    proptest! {
        #[test]
        fn digits_read_as_the_standard_library_reads_them(text in r"[-+]?[0-9]{1,17}(\.[0-9]{1,20})?") {
            prop_assert_eq!(decimal(&text).map(f64::to_bits), text.parse().ok().map(f64::to_bits));
        }

        #[test]
        fn exponents_too(text in r"[-+]?[0-9]{1,10}(\.[0-9]{1,9})?[eE](-?[0-9]|\+?1[0-9])") {
            prop_assert_eq!(decimal(&text).map(f64::to_bits), text.parse().ok().map(f64::to_bits));
        }

        #[test]
        fn what_is_halfway_goes_to_the_even_one(mantissa in (1_u64 << 52)..(1 << 53), below in 1_u32..15) {
            // mantissa + 1/2 at 2^-below has a finite decimal: digits × 5^(below + 1) / 10^(below + 1)
            let digits = (u128::from(mantissa) * 2 + 1) * 5_u128.pow(below + 1);
            let text = format!("{digits}e-{}", below + 1);
            prop_assert_eq!(decimal(&text).map(f64::to_bits), text.parse().ok().map(f64::to_bits));
        }

        #[test]
        fn a_number_as_printed_reads_as_itself(value in -1e15_f64..1e15) {
            prop_assert_eq!(decimal(&format!("{value}")), Some(value));
        }
    }
}
