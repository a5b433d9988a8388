//! What a customer asks of inspections.

use crate::http::text;
use crate::http::whole::Whole;
use serde::{Deserialize, Serialize};
use spindlebook_domain::customer::Customer;
use spindlebook_domain::ids::{CustomerId, PartId, Seq};
use spindlebook_domain::inspection::{InspectionRule, NightPolicy, Occasion, SetCustomerInspection};
use utoipa::ToSchema;

type OperationNumber = Whole<1, 9_999>;
type Months = Whole<1, 600>;
type Pieces = Whole<1, 1_000_000>;

/// Of several rules that are about an operation, the one for its part and number goes before the one for its part, that
/// before the one for its number, and that before the one for everything.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = InspectionRules, example = json!({"customer": "01936b5e-5c00-7000-8000-000000000301", "rules": [{"part": null,
    "operation": null, "first_piece": ["new_setup", "per_shift"], "first_article_after_months": 24,
    "in_process_every": null, "every_nest": false, "independent": true, "customer_approval_needed": true,
    "night": "till_day"}], "changed_seq": 21}))]
pub struct InspectionRulesDto {
    #[schema(value_type = uuid::Uuid)]
    pub customer: CustomerId,
    #[schema(max_items = 500)]
    pub rules: Vec<InspectionRuleDto>,
    /// The entry that last changed them: their version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"rules": [{"first_piece": ["new_setup", "per_shift"], "first_article_after_months": 24,
    "independent": true, "customer_approval_needed": true, "night": "till_day"}]}))]
pub struct InspectionRulesBody {
    /// All of them: what does not stand here holds no more.
    #[schema(max_items = 500)]
    pub rules: Vec<InspectionRuleDto>,
}

/// What holds for all parts, for one, or for one operation.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = InspectionRule)]
pub struct InspectionRuleDto {
    /// Null: every part.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub part: Option<PartId>,
    /// Null: every operation.
    pub operation: Option<OperationNumber>,
    /// After what a first piece is looked at again; empty: as the routing says. An approval names its setup (and with it the
    /// copy of the fixture), its revision and its machine, and is good for those only, whether they stand here or not.
    #[serde(default)]
    #[schema(value_type = Vec<text::Occasion>, max_items = 6)]
    pub first_piece: Vec<Occasion>,
    /// A part that was not finished for so long gets the formal inspection again.
    pub first_article_after_months: Option<Months>,
    /// Of so many pieces that were cut one load is held and looked at.
    pub in_process_every: Option<Pieces>,
    /// A setup is approved when a piece of each nest is.
    #[serde(default)]
    pub every_nest: bool,
    /// Whoever loaded or ran a piece does not accept it.
    #[serde(default)]
    pub independent: bool,
    /// Nothing is used as it is without the customer's reference.
    #[serde(default)]
    pub customer_approval_needed: bool,
    /// Who decides while no inspector is there. Null: inspectors whenever they come.
    #[schema(value_type = Option<text::NightPolicy>)]
    pub night: Option<NightPolicy>,
}

impl InspectionRulesDto {
    pub fn of(customer: &Customer) -> Self {
        Self {
            customer: customer.id,
            rules: customer.inspection.iter().map(InspectionRuleDto::from).collect(),
            changed_seq: customer.inspection_changed_seq,
        }
    }
}

impl InspectionRulesBody {
    pub fn into_command(self, customer: CustomerId, expected: Option<Seq>) -> SetCustomerInspection {
        SetCustomerInspection {
            customer,
            rules: self.rules.into_iter().map(InspectionRule::from).collect(),
            expected,
        }
    }
}

impl From<InspectionRuleDto> for InspectionRule {
    fn from(rule: InspectionRuleDto) -> Self {
        Self {
            part: rule.part,
            operation: rule.operation.map(Whole::to),
            first_piece: rule.first_piece,
            first_article_after_months: rule.first_article_after_months.map(Whole::to),
            in_process_every: rule.in_process_every.map(Whole::to),
            every_nest: rule.every_nest,
            independent: rule.independent,
            customer_approval_needed: rule.customer_approval_needed,
            night: rule.night,
        }
    }
}

impl From<&InspectionRule> for InspectionRuleDto {
    fn from(rule: &InspectionRule) -> Self {
        Self {
            part: rule.part,
            operation: rule.operation.map(|number| Whole::clamped(number.into())),
            first_piece: rule.first_piece.clone(),
            first_article_after_months: rule
                .first_article_after_months
                .map(|months| Whole::clamped(months.into())),
            in_process_every: rule.in_process_every.map(|pieces| Whole::clamped(pieces.into())),
            every_nest: rule.every_nest,
            independent: rule.independent,
            customer_approval_needed: rule.customer_approval_needed,
            night: rule.night,
        }
    }
}
