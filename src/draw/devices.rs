//! Junction boxes, thermostats, and sensors in their conduits.

use super::View;
use super::canvas::{Frame, Item, group, item, number, path};
use super::labels::{BARRED, Labels, Words};
use super::lettering::size;
use super::palette as color;
use super::palette::width;
use crate::geometry::{along, distance};
use crate::model::{Point, Sensor};

/// A sensor's conduit from below its thermostat to its tip.
pub(super) fn conduit(view: &View<'_>, sensor: &Sensor) -> Vec<Point> {
    let thermostat = view.room.thermostats.get(sensor.thermostat).map(|thermostat| thermostat.at);
    let mut route: Vec<Point> = thermostat.into_iter().chain(sensor.conduit.iter().copied()).collect();
    route.dedup();
    route
}

/// The point so far back from a route's last one, mm.
pub(super) fn back_from_end(route: &[Point], back: f64) -> Option<Point> {
    let mut left = back;
    for pair in route.windows(2).rev() {
        let length = distance(pair[0], pair[1]);
        if left <= length {
            return Some(along(pair[1], pair[0], left / length));
        }
        left -= length;
    }
    route.first().copied()
}

/// Conduits, boxes and thermostats, in floor coordinates.
pub(super) fn devices(view: &View<'_>) -> Item {
    let mut whole = group("devices");
    let mm = |paper: f64| view.sheet.floor(paper);
    for sensor in &view.room.sensors {
        let route = conduit(view, sensor);
        let Some(tip) = route.last() else { continue };
        let dash = [0.01, 0.9].map(|length| number(mm(length), 4)).join(" ");
        let drawn = item("path").set("class", "conduit").set("d", path(&route, false)).line(color::SENSOR, mm(0.5));
        let mut own = group("sensor").set("data-name", sensor.name.text.as_str());
        own.push(drawn.set("stroke-dasharray", dash).set("stroke-linecap", "round"));
        let (long, short) = (mm(1.2), mm(0.8));
        let diamond = [(long, 0.0), (0.0, short), (-long, 0.0), (0.0, -short)].map(|(x, y)| *tip + Point { x, y });
        own.push(item("path").set("class", "tip").set("d", path(&diamond, true)).set("fill", color::SENSOR));
        whole.push(own);
    }
    for junction in &view.room.junctions {
        let half = mm(1.1);
        let square =
            [(-half, -half), (half, -half), (half, half), (-half, half)].map(|(x, y)| junction.at + Point { x, y });
        let cross = format!("{}{}", path(&[square[0], square[2]], false), path(&[square[1], square[3]], false));
        whole.push(
            group("junction")
                .set("data-name", junction.name.text.as_str())
                .with(
                    item("path")
                        .set("d", path(&square, true))
                        .line(color::TAIL, mm(width::CABLE))
                        .set("fill", color::PAPER),
                )
                .with(item("path").set("d", cross).line(color::TAIL, mm(width::THIN))),
        );
    }
    for thermostat in &view.room.thermostats {
        let disc = |paper: f64| {
            item("circle")
                .set("cx", number(thermostat.at.x, 4))
                .set("cy", number(thermostat.at.y, 4))
                .set("r", number(mm(paper), 4))
        };
        whole.push(
            group("thermostat")
                .set("data-name", thermostat.name.text.as_str())
                .with(disc(1.25).line(color::INK, mm(width::CABLE)).set("fill", color::PAPER))
                .with(disc(0.5).set("fill", color::INK)),
        );
    }
    whole
}

/// What labels keep off for the devices' sake.
pub(super) fn obstacles(view: &View<'_>, labels: &mut Labels) {
    let points = view.room.junctions.iter().map(|junction| junction.at);
    for at in points.chain(view.room.thermostats.iter().map(|thermostat| thermostat.at)) {
        let at = view.sheet.on_paper(at);
        labels.bar_sign(Frame { left: at.x, top: at.y, right: at.x, bottom: at.y }.grown(1.2), BARRED);
    }
    for sensor in &view.room.sensors {
        let route: Vec<Point> = conduit(view, sensor).into_iter().map(|point| view.sheet.on_paper(point)).collect();
        route.windows(2).for_each(|pair| labels.bar_line(pair[0], pair[1], BARRED));
        if let Some(tip) = route.last() {
            labels.bar_sign(Frame { left: tip.x, top: tip.y, right: tip.x, bottom: tip.y }.grown(1.2), BARRED);
        }
    }
}

/// The devices' words: names, heights, ratings, how deep a sensor lies.
pub(super) fn labels(view: &View<'_>, labels: &mut Labels) -> Item {
    let mut whole = group("device-names");
    for (index, thermostat) in view.room.thermostats.iter().enumerate() {
        let height = thermostat.height.map(|height| format!(", {} above floor", number(height, 1))).unwrap_or_default();
        let contactor = view.room.contactors.iter().find(|contactor| contactor.thermostat == index);
        let contactor = contactor.map(|own| format!(", works contactor {}", own.name.text)).unwrap_or_default();
        let words = format!("thermostat {}{contactor}{height}", thermostat.name.text);
        whole.extend(Words::sized(&words, size::SMALL).put_around(labels, view.sheet.on_paper(thermostat.at), "name"));
    }
    for junction in &view.room.junctions {
        let height = junction.height.map(|height| format!(", {} above floor", number(height, 1))).unwrap_or_default();
        let words = Words::sized(&format!("box {}{height}", junction.name.text), size::SMALL).colored(color::TAIL);
        whole.extend(words.put_around(labels, view.sheet.on_paper(junction.at), "name"));
    }
    for (index, sensor) in view.room.sensors.iter().enumerate() {
        let Some(tip) = sensor.conduit.last() else { continue };
        let depth = if view.room.corners.is_empty() { None } else { view.measure.sensor_depth(index) };
        let depth = depth.filter(|depth| *depth > 0.0 && view.figures);
        if let Some(depth) = depth {
            whole.extend(depth_mark(view, sensor, depth));
        }
        let depth = depth.map(|depth| format!(", {} into the heated floor", number(depth, 0))).unwrap_or_default();
        let words = Words::sized(&format!("sensor {}{depth}", sensor.name.text), size::SMALL).colored(color::SENSOR);
        whole.extend(words.put_around(labels, view.sheet.on_paper(*tip), "name"));
    }
    whole
}

/// A tick across the conduit where it enters the heated floor: the sensor's depth counts from there to its tip.
fn depth_mark(view: &View<'_>, sensor: &Sensor, depth: f64) -> Option<Item> {
    let route = conduit(view, sensor);
    let entry = view.sheet.on_paper(back_from_end(&route, depth)?);
    let tip = view.sheet.on_paper(*route.last()?);
    let reach = distance(entry, tip);
    if reach <= 0.0 {
        return None;
    }
    let step = (tip - entry) / reach;
    let side = Point { x: -step.y, y: step.x } * 1.1;
    let mark = super::canvas::straight(entry - side, entry + side, color::SENSOR, width::MEDIUM);
    Some(mark.set("class", "depth").set("data-mm", number(depth, 4)))
}
