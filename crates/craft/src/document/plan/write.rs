//! From a plan to its document: names for places, units for quantities, one rounding.

use nesting::StraightRow;
use quantity::{Area, Length, Mass, Money, Span};

use crate::{
    consistency::GEL_WATER,
    cutting::{Cutting, CuttingWay},
    document::plan::{
        BagDocument, BasisDocument, BatchDocument, BowlDocument, CountDocument, CutDocument,
        CuttingDocument, CuttingWayDocument, DesignDocument, DoseDocument, DoughDocument, FORMAT,
        HandoverDocument, HeadsUpDocument, LabelDocument, LabelIngredientDocument,
        LeftoverDocument, LoadDocument, MassRangeDocument, NeighborDocument, OrderSummary,
        OverlapDocument, PackedDesignDocument, PackingDocument, PartDocument, PassDocument,
        PlanDocument, PriceDocument, PriceLineDocument, RowDocument, SectionDocument,
        SessionDocument, SheetDocument, SheetRowCutDocument, SheetRowDocument, ShoppingDocument,
        SubjectDocument, TintDocument, TrayDocument, WaitDocument,
    },
    heads_up::{HeadsUp, Severity},
    icing::{Bowl, IcingPlan},
    kitchen::{self, Kitchen, Part},
    order::{CutterUse, Detail, Item, Order, Turning},
    pantry::Need,
    passes::{Pass, PassesPlan},
    plan::{Basis, OrderPlan},
    price::PricePart,
    technique::{Section, Sections},
    tinting::{Dose, Measure, Tint},
};

/// Everything a plan document is written from.
#[derive(Clone, Copy, Debug)]
pub struct Written<'a> {
    /// The kitchen it was planned for.
    pub kitchen: &'a Kitchen,
    /// The order.
    pub order: &'a Order,
    /// Its plan.
    pub plan: &'a OrderPlan,
    /// What it was made from.
    pub basis: &'a Basis,
    /// SHA-256 of the inputs, in hexadecimal.
    pub inputs_sha256: &'a str,
}

/// Writes all chapters of a plan but its days, which [`PlanDocument::with_week`] adds.
pub fn write_plan(written: &Written<'_>) -> PlanDocument {
    let Written { kitchen, order, plan, basis, inputs_sha256 } = *written;
    let sections = &plan.sections;
    let design_id = |place: usize| sections.designs[place].id.clone();
    PlanDocument {
        format: FORMAT,
        basis: BasisDocument {
            engine: concat!("sugarwright ", env!("CARGO_PKG_VERSION")).to_owned(),
            seed: basis.seed,
            evaluations: plan.evaluations(),
            today: basis.today.to_string(),
            inputs_sha256: inputs_sha256.to_owned(),
        },
        order: order_summary(order, sections),
        designs: designs(sections, &plan.details),
        sections: sections
            .sections
            .iter()
            .zip(&plan.icing.on_cookie)
            .map(|(section, on_cookie)| {
                section_document(section, &design_id(section.item), *on_cookie)
            })
            .collect(),
        neighbors: sections
            .neighbors
            .iter()
            .map(|neighbor| NeighborDocument {
                design: design_id(sections.sections[neighbor.a].item),
                a: sections.sections[neighbor.a].id.clone(),
                b: sections.sections[neighbor.b].id.clone(),
                shared_mm: mm(neighbor.shared),
            })
            .collect(),
        overlaps: sections
            .overlaps
            .iter()
            .map(|overlap| OverlapDocument {
                design: design_id(sections.sections[overlap.top].item),
                top: sections.sections[overlap.top].id.clone(),
                under: sections.sections[overlap.under].id.clone(),
                area_mm2: mm2(overlap.area),
            })
            .collect(),
        bowls: plan
            .icing
            .bowls
            .iter()
            .zip(&plan.tints)
            .map(|(of, tint)| bowl(of, tint.as_ref()))
            .collect(),
        icing_batch: batch(kitchen, &plan.icing),
        dough: DoughDocument {
            mass_g: g(plan.dough.mass),
            batches: plan.dough.n_batches,
            fresh_sheets: plan.dough.cutting.n_fresh(),
            freezer_sheets: plan.dough.cutting.n_stock(),
            rerolls: plan.dough.cutting.n_rerolled(),
            parts: parts(kitchen, &plan.dough.parts, plan.dough.n_batches),
            steps: kitchen
                .recipe(&kitchen.dough.recipe)
                .map(|recipe| recipe.steps.clone())
                .unwrap_or_default(),
            cutting: plan.dough.cutting.style.map(|style| style.to_string()),
            ways: plan.dough.cutting.ways.iter().map(cutting_way).collect(),
        },
        cutting: cutting(order, plan, &design_id),
        trays: trays(kitchen, plan, &design_id),
        loads: plan
            .baking
            .loads
            .iter()
            .map(|load| LoadDocument { trays: load.trays.clone(), bake_min: minutes(load.bake) })
            .collect(),
        sessions: plan
            .passes
            .sessions
            .iter()
            .zip(1..)
            .map(|(session, number)| SessionDocument {
                session: number,
                stage: session.stage + 1,
                active_min: minutes(session.active),
                bound_min: minutes(session.bound),
                bag_changes: session.n_bag_changes,
                idle_min: minutes(session.idle),
            })
            .collect(),
        passes: plan
            .passes
            .passes
            .iter()
            .map(|pass| pass_document(pass, &plan.passes, &plan.icing, sections))
            .collect(),
        days: Vec::new(),
        shopping: plan
            .shopping
            .iter()
            .map(|line| ShoppingDocument {
                name: line.name.clone(),
                mass_g: weighed(line.need),
                pieces: counted(line.need),
                pack_g: weighed(line.pack),
                pack_pieces: counted(line.pack),
                packs: line.packs,
                cost_minor: line.cost.to_minor(),
                outlay_minor: line.outlay.to_minor(),
            })
            .collect(),
        price: price(kitchen, plan),
        label: LabelDocument {
            ingredients: plan
                .label
                .ingredients
                .iter()
                .map(|one| LabelIngredientDocument { text: one.text.clone(), mass_g: g(one.mass) })
                .collect(),
            allergens: plan.label.allergens.clone(),
            contains_line: plan.label.contains_line.clone(),
            color_warning: plan.label.color_warning.clone(),
            net_g: g(plan.label.net),
            cautions: plan.label.cautions.clone(),
        },
        packing: PackingDocument {
            designs: plan
                .packing
                .designs
                .iter()
                .map(|packed| PackedDesignDocument {
                    design: design_id(packed.design),
                    cookie_bag: packed.bag.map(|bag| kitchen.cookie_bags[bag].name.clone()),
                    count: packed.n,
                    need_width_mm: mm(packed.need_width),
                    need_length_mm: mm(packed.need_length),
                })
                .collect(),
        },
        heads_ups: plan.heads_ups.iter().map(heads_up).collect(),
    }
}

fn order_summary(order: &Order, sections: &Sections) -> OrderSummary {
    OrderSummary {
        title: order.title.clone(),
        customer: order.customer.clone(),
        invented: order.invented,
        count: order.count(),
        handovers: order
            .handovers
            .iter()
            .map(|handover| HandoverDocument {
                at: handover.at.to_string(),
                counts: handover
                    .counts
                    .iter()
                    .map(|&(item, count)| CountDocument {
                        design: sections.designs[item].id.clone(),
                        count,
                    })
                    .collect(),
            })
            .collect(),
        must_have: order.must_have.clone(),
        avoid: order.avoid.clone(),
        wording_confirmed: order.wording_confirmed,
    }
}

fn designs(sections: &Sections, details: &[Detail]) -> Vec<DesignDocument> {
    sections
        .designs
        .iter()
        .zip(details)
        .map(|(design, detail)| DesignDocument {
            id: design.id.clone(),
            count: design.count,
            extras: design.extras,
            drawn: design.drawn,
            detail: detail.name().to_owned(),
            width_mm: mm(design.width),
            height_mm: mm(design.height),
            shape_area_mm2: mm2(design.outline.area()),
            outline_d: design.outline.path_d(),
            sections: sections.sections[design.sections.clone()]
                .iter()
                .map(|section| section.id.clone())
                .collect(),
        })
        .collect()
}

fn section_document(section: &Section, design: &str, on_cookie: Mass) -> SectionDocument {
    SectionDocument {
        id: section.id.clone(),
        design: design.to_owned(),
        color: section.color.to_hex(),
        technique: section.technique.name().to_owned(),
        onto: section.onto.name().to_owned(),
        layer: section.layer,
        path_d: path(section.visible.as_ref()),
        poured_d: if section.poured == section.visible {
            String::new()
        } else {
            path(section.poured.as_ref())
        },
        visible_area_mm2: mm2(section.visible_area),
        poured_area_mm2: mm2(section.poured_area),
        edge_mm: mm(section.edge),
        line_mm: mm(section.line),
        smallest_width_mm: mm(section.smallest_width),
        on_cookie_g: round(on_cookie.to_g(), 3),
        reason: section.reason.to_owned(),
    }
}

pub(in crate::document) fn path(region: Option<&drawing::Region>) -> String {
    region.map(drawing::Region::path_d).unwrap_or_default()
}

fn bowl(bowl: &Bowl, tint: Option<&Tint>) -> BowlDocument {
    BowlDocument {
        id: bowl.id.clone(),
        color: bowl.color.to_hex(),
        on_cookies_g: g(bowl.on_cookies),
        left_g: g(bowl.left),
        water_g: g(bowl.water),
        gel_water_g: tint.map_or(0.0, |tint| g(tint.gel * GEL_WATER.to_one())),
        weigh_out_g: g(bowl.weigh_out),
        from_stock_g: g(bowl.from_stock),
        range: bowl
            .range
            .map(|range| MassRangeDocument { low_g: g(range.low), high_g: g(range.high) }),
        bags: bowl
            .bags
            .iter()
            .map(|bag| BagDocument {
                id: bag.id.clone(),
                count_s: bag.count.map(|count| round(count.to_seconds(), 0)),
                tip: bag.tip.clone(),
                fill_g: g(bag.fill),
                water_g: g(bag.water),
                n: bag.n,
            })
            .collect(),
        tint: tint.map(tint_document),
    }
}

fn tint_document(tint: &Tint) -> TintDocument {
    TintDocument {
        expected: tint.expected.to_hex(),
        tomorrow: tint.tomorrow.to_hex(),
        difference: round(tint.difference, 1),
        start: tint
            .start
            .map(|start| LeftoverDocument { color: start.color.to_hex(), mass_g: g(start.mass) }),
        doses: tint.doses.iter().map(dose).collect(),
        gel_mg: round(tint.gel.to_g() * 1000.0, 0),
        cost_minor: tint.cost.to_minor(),
        cautions: tint.cautions.clone(),
        others: tint.others.iter().map(tint_document).collect(),
    }
}

fn dose(dose: &Dose) -> DoseDocument {
    let (drops, mix_g) = match dose.measure {
        Measure::Drops(drops) => (Some(drops), None),
        Measure::Mix(mass) => (None, Some(round(mass.to_g(), 2))),
    };
    DoseDocument {
        gel: dose.gel.clone(),
        mass_mg: round(dose.mass.to_g() * 1000.0, 0),
        drops,
        mix_g,
    }
}

fn batch(kitchen: &Kitchen, icing: &IcingPlan) -> BatchDocument {
    let batch = &icing.batch;
    let total_of = |wanted: &dyn Fn(&Part) -> bool| {
        g(batch.parts.iter().filter(|part| wanted(part)).map(|part| part.mass).sum())
    };
    let has_egg = |part: &Part| {
        kitchen.ingredient(&part.ingredient).is_some_and(kitchen::Ingredient::has_egg)
    };
    let sugar = batch
        .parts
        .iter()
        .max_by(|a, b| a.mass.to_g().total_cmp(&b.mass.to_g()))
        .map(|part| &part.ingredient);
    BatchDocument {
        sugar_g: total_of(&|part| Some(&part.ingredient) == sugar),
        dried_white_g: total_of(&has_egg),
        water_g: total_of(&|part| part.ingredient == "water"),
        total_g: g(batch.total),
        batches: batch.n,
        parts: parts(kitchen, &batch.parts, batch.n),
        steps: batch.steps.clone(),
        made_ahead_h: round(kitchen.icing.made_ahead.to_hours(), 2),
        keeps_days: round(kitchen.icing.keeps.to_hours() / 24.0, 2),
    }
}

/// Writes the parts of a recipe over all batches, and as one of the even batches takes them.
fn parts(kitchen: &Kitchen, all: &[Part], n_batches: u32) -> Vec<PartDocument> {
    let document = |part: &Part| {
        let in_batch = part.mass * (1.0 / f64::from(n_batches.max(1)));
        let spooned = kitchen.ingredient(&part.ingredient).and_then(|one| one.bulk_density);
        PartDocument {
            ingredient: part.ingredient.clone(),
            mass_g: g(part.mass),
            batch_g: g(in_batch),
            batch_ml: spooned.map(|density| round((in_batch / density).to_ml(), 1)),
        }
    };
    all.iter().map(document).collect()
}

fn cutting_way(way: &CuttingWay) -> CuttingWayDocument {
    CuttingWayDocument {
        cutting: way.style.to_string(),
        mass_g: g(way.mass),
        fresh_sheets: way.n_fresh,
        freezer_sheets: way.n_stock,
        rerolls: way.n_rerolled,
        one_shape: way.one_shape,
        extras_left_out: way.n_left_out,
        time_min: minutes(way.time),
        cost_minor: way.cost.to_minor(),
    }
}

/// What the order asks of its cutters.
fn cutter_notes(order: &Order, cutting: &Cutting) -> Vec<String> {
    let cut: Vec<&Item> = cutting.designs.iter().filter_map(|&at| order.items.get(at)).collect();
    let named = |wanted: fn(&CutterUse) -> bool| -> Option<String> {
        let names = cut.iter().filter(|item| wanted(&item.cutter_use));
        let names: Vec<&str> = names.map(|item| item.name.as_str()).collect();
        (!names.is_empty()).then(|| names.join(", "))
    };
    let upright = named(|cutter| cutter.turning == Turning::Fixed);
    let quarters = named(|cutter| cutter.turning == Turning::Quarter);
    let fresh = named(|cutter| cutter.fresh_dough);
    let told = [
        upright.map(|names| {
            format!("The pattern of the dough stays upright on {names}: the cutter is not turned.")
        }),
        quarters.map(|names| {
            format!(
                "The cutter of {names} is turned by quarters only, along the pattern of the dough."
            )
        }),
        fresh.map(|names| format!("Fresh and frozen sheets only, nothing from scraps: {names}.")),
    ];
    told.into_iter().flatten().collect()
}

fn cutting(
    order: &Order,
    plan: &OrderPlan,
    design_id: &dyn Fn(usize) -> String,
) -> CuttingDocument {
    let cutting = &plan.dough.cutting;
    let Some(engine) = &cutting.plan else {
        return CuttingDocument {
            sheets: Vec::new(),
            area_bound_sheets: 0,
            least_dough_g: None,
            notes: Vec::new(),
        };
    };
    let design = |piece: usize| cutting.designs.get(piece).map(|&place| design_id(place));
    let row = |row: &StraightRow| SheetRowDocument {
        cuts: row
            .cuts
            .iter()
            .map(|&(piece, n)| SheetRowCutDocument { design: design(piece).unwrap_or_default(), n })
            .collect(),
        head_to_tail: row.head_to_tail,
    };
    CuttingDocument {
        sheets: engine
            .sheets
            .iter()
            .enumerate()
            .map(|(place, sheet)| SheetDocument {
                round: sheet.round,
                from_freezer: sheet.from_stock,
                width_mm: round(sheet.size.width_mm, 2),
                length_mm: round(sheet.size.length_mm, 2),
                placements: sheet
                    .placements
                    .iter()
                    .map(|cut| placement(cut, &cutting.designs, design_id))
                    .collect(),
                rows: cutting.rows.get(place).into_iter().flatten().map(row).collect(),
            })
            .collect(),
        area_bound_sheets: engine.sheets_bound,
        least_dough_g: cutting.least_mass.map(g),
        notes: cutter_notes(order, cutting),
    }
}

fn trays(
    kitchen: &Kitchen,
    plan: &OrderPlan,
    design_id: &dyn Fn(usize) -> String,
) -> Vec<TrayDocument> {
    let (Some(engine), Some(tray)) = (&plan.baking.plan, kitchen.trays.first()) else {
        return Vec::new();
    };
    engine
        .trays
        .iter()
        .map(|filled| TrayDocument {
            width_mm: mm(tray.width),
            length_mm: mm(tray.length),
            placements: filled
                .placements
                .iter()
                .map(|one| placement(one, &plan.baking.designs, design_id))
                .collect(),
        })
        .collect()
}

fn placement(
    cut: &nesting::Placement,
    designs: &[usize],
    design_id: &dyn Fn(usize) -> String,
) -> CutDocument {
    CutDocument {
        design: designs.get(cut.piece).map(|&place| design_id(place)).unwrap_or_default(),
        x_mm: round(cut.x_mm, 3),
        y_mm: round(cut.y_mm, 3),
        rotation_deg: round(cut.rotation_deg, 4),
        mirrored: cut.mirrored,
    }
}

fn pass_document(
    pass: &Pass,
    passes: &PassesPlan,
    icing: &IcingPlan,
    sections: &Sections,
) -> PassDocument {
    let section_id = |place: usize| sections.sections[place].id.clone();
    PassDocument {
        id: pass.id.clone(),
        session: pass.session + 1,
        bag: pass.bag.map(|(bowl, bag)| icing.bowls[bowl].bags[bag].id.clone()),
        sections: pass.sections().map(section_id).collect(),
        rows: pass
            .rows
            .iter()
            .map(|row| RowDocument {
                sections: row.sections.iter().map(|&place| section_id(place)).collect(),
                first_cookie: row.from.saturating_add(1),
                copies: row.copies,
                start_min: minutes(row.start),
                end_min: minutes(row.end),
            })
            .collect(),
        ahead: pass.is_ahead,
        maker: pass.maker + 1,
        start_min: minutes(pass.start),
        end_min: minutes(pass.end),
        copies: pass.copies(),
        waits_for: pass
            .waits_for
            .iter()
            .map(|wait| WaitDocument {
                pass: passes.passes[wait.pass].id.clone(),
                section: section_id(wait.section),
                waiting: section_id(wait.waiting),
                kind: wait.kind.name().to_owned(),
                lag_min: minutes(wait.lag),
            })
            .collect(),
    }
}

fn price(kitchen: &Kitchen, plan: &OrderPlan) -> PriceDocument {
    let price = &plan.price;
    let minor = |money: Money| money.to_minor();
    PriceDocument {
        lines: price
            .lines
            .iter()
            .map(|line| PriceLineDocument {
                name: line.name.clone(),
                part: match line.part {
                    PricePart::Ingredients => "ingredients",
                    PricePart::Packaging => "packaging",
                    PricePart::Energy => "energy",
                    PricePart::Work => "work",
                    PricePart::Overhead => "overhead",
                }
                .to_owned(),
                amount_minor: minor(line.amount),
            })
            .collect(),
        cost_minor: minor(price.cost),
        cash_cost_minor: minor(price.cash_cost),
        price_minor: minor(price.price),
        per_hour_minor: minor(price.per_hour),
        deposit_minor: minor(price.deposit),
        hours: round(price.hours.to_hours(), 2),
        currency: kitchen.units.currency.code().to_owned(),
    }
}

fn weighed(need: Need) -> Option<f64> {
    if let Need::Mass(mass) = need { Some(g(mass)) } else { None }
}

fn counted(need: Need) -> Option<u32> {
    if let Need::Pieces(pieces) = need { Some(pieces) } else { None }
}

pub(in crate::document) fn heads_up(heads_up: &HeadsUp) -> HeadsUpDocument {
    HeadsUpDocument {
        severity: match heads_up.severity {
            Severity::Note => "note",
            Severity::Caution => "caution",
            Severity::Stop => "stop",
        }
        .to_owned(),
        subject: SubjectDocument {
            kind: heads_up.subject.kind().to_owned(),
            id: heads_up.subject.id().to_owned(),
        },
        message: heads_up.message.clone(),
        hint: heads_up.hint.clone(),
    }
}

pub(in crate::document) fn mm(length: Length) -> f64 {
    round(length.to_mm(), 2)
}

pub(in crate::document) fn mm2(area: Area) -> f64 {
    round(area.to_mm2(), 2)
}

fn g(mass: Mass) -> f64 {
    round(mass.to_g(), 1)
}

fn minutes(span: Span) -> f64 {
    round(span.to_minutes(), 1)
}

/// Rounds to so many decimals; what is not a number becomes 0, and minus zero plain zero.
pub(in crate::document) fn round(value: f64, decimals: i32) -> f64 {
    let factor = 10_f64.powi(decimals);
    let rounded = (value * factor).round() / factor;
    if rounded.is_finite() { rounded + 0.0 } else { 0.0 }
}
