//! Seven-bit addresses and how to part those who share one.

/// Whether an address is kept for other uses (UM10204, 3.1.12: 0000 xxx and
/// 1111 xxx).
#[must_use]
pub fn is_reserved(address: u8) -> bool {
    address < 0x08 || (0x78..=0x7F).contains(&address)
}

/// The two bytes on the wire of an address: for writing and for reading. A
/// document that gives one of these gives an address in eight bits.
///
/// ```
/// assert_eq!(system::buses::address::on_the_wire(0x68), (0xD0, 0xD1));
/// ```
#[must_use]
pub fn on_the_wire(address: u8) -> (u8, u8) {
    (address << 1, address << 1 | 1)
}

/// An address for each device out of those it can have, all different: none
/// where there is no such choice.
///
/// ```
/// use system::buses::address::parted;
/// let both: &[u8] = &[0x76, 0x77];
/// assert!(parted(&[both, both]).is_some());
/// assert_eq!(parted(&[both, both, both]), None);
/// ```
#[must_use]
pub fn parted(offered: &[&[u8]]) -> Option<Vec<u8>> {
    let (owner, count) = matched(offered);
    if count < offered.len() {
        return None;
    }
    let mut found = vec![0; offered.len()];
    for (address, device) in (0_u8..128).zip(&owner) {
        if let Some(slot) = device.and_then(|d| found.get_mut(d)) {
            *slot = address;
        }
    }
    Some(found)
}

/// How many of them can be reached on one bus at most.
#[must_use]
pub fn reachable(offered: &[&[u8]]) -> usize {
    matched(offered).1
}

/// Who has each address, by augmenting paths, and how many devices have one.
fn matched(offered: &[&[u8]]) -> (Vec<Option<usize>>, usize) {
    let mut owner: Vec<Option<usize>> = vec![None; 128];
    let mut count = 0;
    for device in 0..offered.len() {
        let mut tried = vec![false; 128];
        if placed(device, offered, &mut owner, &mut tried) {
            count += 1;
        }
    }
    (owner, count)
}

/// Finds an address for a device, moving others where they have another one;
/// each address is tried once, so it ends.
fn placed(
    device: usize,
    offered: &[&[u8]],
    owner: &mut [Option<usize>],
    tried: &mut [bool],
) -> bool {
    for &address in offered.get(device).copied().unwrap_or_default() {
        let at = usize::from(address);
        match tried.get_mut(at) {
            Some(t) if !*t => *t = true,
            _ => continue,
        }
        let free = match owner.get(at).copied().flatten() {
            None => true,
            Some(other) => placed(other, offered, owner, tried),
        };
        if free {
            if let Some(slot) = owner.get_mut(at) {
                *slot = Some(device);
            }
            return true;
        }
    }
    false
}
