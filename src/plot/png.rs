//! A PNG file from pixels (PNG specification, third edition; ISO/IEC 15948), without a dependency.
//!
//! Charts are flat colours: each row is written as its difference from the row above, and long runs of zeros are
//! packed with the fixed codes of DEFLATE (RFC 1951, 3.2.6). Not made for photographs.

/// The pixels (red, green, blue, row by row from the top) as a file.
pub(super) fn encode(pixels: &[u8], width: usize, height: usize, per_metre: u32) -> Vec<u8> {
    let side = |length: usize| u32::try_from(length).unwrap_or(u32::MAX).to_be_bytes();
    let mut file = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut header = [side(width), side(height)].concat();
    // eight bits, colour type 2 (RGB), the only compression and filter methods there are, not interlaced
    header.extend([8, 2, 0, 0, 0]);
    chunk(&mut file, *b"IHDR", &header);
    let mut density = [per_metre.to_be_bytes(), per_metre.to_be_bytes()].concat();
    density.push(1);
    chunk(&mut file, *b"pHYs", &density);
    chunk(&mut file, *b"IDAT", &zlib(&filtered(pixels, 3 * width)));
    chunk(&mut file, *b"IEND", &[]);
    file
}

/// Each row with filter 2 in front: the difference from the row above.
fn filtered(pixels: &[u8], row_length: usize) -> Vec<u8> {
    let mut rows = Vec::with_capacity(pixels.len() + pixels.len() / row_length.max(1));
    let mut above: &[u8] = &[];
    for row in pixels.chunks_exact(row_length.max(1)) {
        rows.push(2);
        rows.extend(
            row.iter().enumerate().map(|(i, byte)| byte.wrapping_sub(above.get(i).copied().unwrap_or(0))),
        );
        above = row;
    }
    rows
}

fn chunk(file: &mut Vec<u8>, kind: [u8; 4], data: &[u8]) {
    file.extend(u32::try_from(data.len()).unwrap_or(u32::MAX).to_be_bytes());
    let start = file.len();
    file.extend(kind);
    file.extend(data);
    let check = crc(&file[start..]);
    file.extend(check.to_be_bytes());
}

/// Cyclic redundancy check of a chunk (PNG, annex D).
fn crc(data: &[u8]) -> u32 {
    !data.iter().fold(u32::MAX, |sum, byte| {
        (0..8).fold(
            sum ^ u32::from(*byte),
            |sum, _| if sum & 1 == 1 { 0xEDB8_8320 ^ (sum >> 1) } else { sum >> 1 },
        )
    })
}

/// Check of the uncompressed data (RFC 1950, 9).
fn adler(data: &[u8]) -> u32 {
    let (a, b) = data.iter().fold((1_u32, 0_u32), |(a, b), byte| {
        let a = (a + u32::from(*byte)) % 65_521;
        (a, (b + a) % 65_521)
    });
    (b << 16) | a
}

fn zlib(data: &[u8]) -> Vec<u8> {
    // deflate, window of 32 KiB, check bits so that the two bytes are a multiple of 31 (RFC 1950, 2.2)
    let mut packed = vec![0x78, 0x01];
    packed.extend(deflated(data));
    packed.extend(adler(data).to_be_bytes());
    packed
}

/// Bits in the order of DEFLATE: lowest first.
#[derive(Default)]
struct Bits {
    bytes: Vec<u8>,
    held: u32,
    count: u32,
}

impl Bits {
    fn number(&mut self, value: u32, length: u32) {
        self.held |= value << self.count;
        self.count += length;
        while self.count >= 8 {
            self.bytes.push(self.held.to_le_bytes()[0]);
            self.held >>= 8;
            self.count -= 8;
        }
    }

    /// A code word, highest bit first.
    fn code(&mut self, value: u32, length: u32) {
        self.number(value.reverse_bits() >> (32 - length), length);
    }

    /// A literal, end mark or length symbol in the fixed code (RFC 1951, 3.2.6).
    fn symbol(&mut self, symbol: u32) {
        match symbol {
            0..=143 => self.code(0x30 + symbol, 8),
            144..=255 => self.code(0x190 + symbol - 144, 9),
            256..=279 => self.code(symbol - 256, 7),
            _ => self.code(0xC0 + symbol - 280, 8),
        }
    }

    /// "Repeat the last `distance` bytes until `length` are written": distance 1 or 3, length 3 to 258.
    fn repeat(&mut self, length: u32, distance: u32) {
        let (symbol, first, extra) = length_symbol(length);
        self.symbol(symbol);
        self.number(length - first, extra);
        // distances 1 to 4 are symbols 0 to 3 without extra bits
        self.code(distance - 1, 5);
    }
}

/// Symbol, shortest length and extra bits for a length (RFC 1951, 3.2.5).
fn length_symbol(length: u32) -> (u32, u32, u32) {
    const FIRST: [u32; 29] = [
        3, 4, 5, 6, 7, 8, 9, 10, 11, 13, 15, 17, 19, 23, 27, 31, 35, 43, 51, 59, 67, 83, 99, 115, 131, 163,
        195, 227, 258,
    ];
    let index = FIRST.iter().rposition(|first| *first <= length).unwrap_or(0);
    let extra = if index < 8 || index == 28 { 0 } else { index / 4 - 1 };
    (257 + u32::try_from(index).unwrap_or(0), FIRST[index], u32::try_from(extra).unwrap_or(0))
}

/// One block with fixed codes: literals, and runs of equal bytes or equal pixels.
fn deflated(data: &[u8]) -> Vec<u8> {
    let mut bits = Bits::default();
    bits.number(1, 1);
    bits.number(1, 2);
    let mut at = 0;
    while at < data.len() {
        let run = |distance: usize| -> usize {
            if at < distance {
                return 0;
            }
            (at..data.len().min(at + 258)).take_while(|i| data[*i] == data[*i - distance]).count()
        };
        let (same_byte, same_pixel) = (run(1), run(3));
        let (length, distance) = if same_byte >= same_pixel { (same_byte, 1) } else { (same_pixel, 3) };
        if length >= 3 {
            bits.repeat(u32::try_from(length).unwrap_or(3), distance);
            at += length;
        } else {
            bits.symbol(u32::from(data[at]));
            at += 1;
        }
    }
    bits.symbol(256);
    bits.number(0, 7);
    bits.bytes
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// Width, height and pixels of a file of this encoder: a reader of its own, for fixed codes only.
    pub fn decode(file: &[u8]) -> (usize, usize, Vec<u8>) {
        assert_eq!(&file[..8], b"\x89PNG\r\n\x1a\n");
        let number = |at: usize| u32::from_be_bytes(file[at..at + 4].try_into().unwrap()) as usize;
        let (width, height) = (number(16), number(20));
        let (mut at, mut packed) = (8, Vec::new());
        while at < file.len() {
            let length = number(at);
            let check = crc(&file[at + 4..at + 8 + length]) as usize;
            assert_eq!(number(at + 8 + length), check, "chunk at {at}");
            if &file[at + 4..at + 8] == b"IDAT" {
                packed.extend(&file[at + 8..at + 8 + length]);
            }
            at += 12 + length;
        }
        let raw = inflated(&packed[2..packed.len() - 4]);
        assert_eq!(adler(&raw).to_be_bytes(), packed[packed.len() - 4..]);
        let mut pixels: Vec<u8> = Vec::new();
        for row in raw.chunks_exact(3 * width + 1) {
            assert_eq!(row[0], 2);
            for byte in &row[1..] {
                let above = pixels.len().checked_sub(3 * width).map_or(0, |i| pixels[i]);
                pixels.push(byte.wrapping_add(above));
            }
        }
        (width, height, pixels)
    }

    fn inflated(packed: &[u8]) -> Vec<u8> {
        let mut place = 0;
        let mut bit = || {
            let value = u32::from(packed[place / 8] >> (place % 8)) & 1;
            place += 1;
            value
        };
        assert_eq!((bit(), bit(), bit()), (1, 1, 0), "one last block with fixed codes");
        let mut out = Vec::new();
        loop {
            let mut code = (0..7).fold(0, |code, _| code << 1 | bit());
            let symbol = if code < 24 {
                code + 256
            } else {
                code = code << 1 | bit();
                match code {
                    0x30..=0xBF => code - 0x30,
                    0xC0..=0xC7 => code - 0xC0 + 280,
                    _ => (code << 1 | bit()) - 0x190 + 144,
                }
            };
            match symbol {
                0..=255 => out.push(u8::try_from(symbol).unwrap()),
                256 => return out,
                _ => {
                    let (first, extra) = (3..=258)
                        .map(length_symbol)
                        .find_map(|(s, first, extra)| (s == symbol).then_some((first, extra)))
                        .unwrap();
                    let length = first + (0..extra).fold(0, |sum, i| sum | bit() << i);
                    let distance = (0..5).fold(0, |code, _| code << 1 | bit()) as usize + 1;
                    for _ in 0..length {
                        out.push(out[out.len() - distance]);
                    }
                }
            }
        }
    }

    #[test]
    fn checks_are_those_of_the_standards() {
        // CRC-32 of "123456789" as in every catalogue; the check of an empty IEND chunk; Adler-32 of "123456789" by zlib
        assert_eq!(crc(b"123456789"), 0xCBF4_3926);
        assert_eq!(crc(b"IEND"), 0xAE42_6082);
        assert_eq!(adler(b"123456789"), 0x091E_01DE);
    }

    #[test]
    fn lengths_take_the_symbols_of_rfc_1951() {
        for (length, expected) in [
            (3, (257, 3, 0)),
            (10, (264, 10, 0)),
            (12, (265, 11, 1)),
            (66, (276, 59, 3)),
            (257, (284, 227, 5)),
            (258, (285, 258, 0)),
        ] {
            assert_eq!(length_symbol(length), expected, "length {length}");
        }
    }

    #[test]
    fn pixels_read_back_the_same() {
        // every byte value, runs of every kind, and a row that repeats
        let (width, height) = (97, 41);
        let byte = |i: usize| u8::try_from(i % 256).unwrap();
        let pixels: Vec<u8> = (0..3 * width * height)
            .map(|i| match i / 300 % 4 {
                0 => 255,
                1 => byte(i * i / 7),
                2 => [10, 200, 30][i % 3],
                _ => byte(i),
            })
            .collect();
        assert_eq!(decode(&encode(&pixels, width, height, 3000)), (width, height, pixels));
    }

    #[test]
    fn a_flat_picture_packs_small() {
        assert!(encode(&vec![255; 3 * 1000 * 500], 1000, 500, 3000).len() < 12_000);
    }
}
