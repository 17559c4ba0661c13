"""Whether a gripper is strong enough for what hangs in it, and the arm for both."""

from flangewise.handling.gripper import GripKind, GripperShape
from flangewise.handling.holding_force import ArmLoad, HeldMass, NeededForce, arm_load, needed_force
from flangewise.records import dataclass


@dataclass(frozen=True)
class Strength:
    """What a grip is asked at a state of the part: None where the gripper's row does not say enough."""

    held: HeldMass
    needs: NeededForce | None
    arm: ArmLoad | None
    holding_n: float | None

    @property
    def excess(self) -> float:
        """What is asked over what there is, of force, mass and moment the worst; 0 where nothing can be computed."""
        found = [0.0]
        if self.needs is not None and self.holding_n is not None:
            found.append(self.needs.worst_n / self.holding_n)
        if self.arm is not None:
            found.append(self.arm.mass_kg / self.arm.most_kg)
            found.append(self.arm.moment_nm / self.arm.most_nm if self.arm.most_nm else 0.0)
        return max(found)

    @property
    def holds(self) -> bool | None:
        """Whether the gripper is strong enough; None where it cannot be computed."""
        return None if self.needs is None or self.holding_n is None else self.needs.worst_n <= self.holding_n

    @property
    def carries(self) -> bool | None:
        """Whether the arm carries it; None where it cannot be computed."""
        return None if self.arm is None else self.arm.is_carried


def strength_of(shape: GripperShape, kind: GripKind, held: HeldMass, *, length_mm: float) -> Strength:
    """What a grip is asked with a mass in it."""
    own, pads = shape.row, shape.pads(kind, length_mm)
    needs = arm = None
    if own.friction is not None and own.acceleration_m_per_s2 is not None:
        needs = needed_force(
            held,
            pads,
            friction=own.friction,
            acceleration_m_per_s2=own.acceleration_m_per_s2,
            factor=own.factor,
        )
    if own.payload_kg is not None and own.flange_mm is not None and own.payload_moment_nm is not None:
        arm = arm_load(
            held,
            gripper_kg=own.mass_kg + own.adapter_kg,
            payload_kg=own.payload_kg,
            payload_share=own.payload_share,
            payload_moment_nm=own.payload_moment_nm,
            flange_mm=own.flange_mm,
        )
    return Strength(held, needs, arm, own.holding_n)
